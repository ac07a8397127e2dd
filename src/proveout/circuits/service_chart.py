"""A service chart in fixed order, entered as data: steps with limits and where each result leads."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from proveout.circuits.schema import Limit

__all__ = ["ServiceChart", "Step"]


class Step(BaseModel):
    """One step: a measurement, look, behaviour or trial of the circuit, and where each result leads.

    Results of a measurement are `good`, `low`, `high`, `open` and `bad` (any that is not good and has no entry of its
    own); of a trial `cured` and `same`; of the others their outcomes' names. A result leads to a step's name, to
    `repair NAME` with the name of a suspect, or to `stop` (the chart ends without a finding).
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    do: str = Field(description="name of a measurement, look, behaviour or trial of the circuit")
    good: Limit | None = Field(None, description="limits of this step, where they are not those of the measurement")
    leads: dict[str, str] = Field(description="result: step, 'repair NAME' or 'stop'")
    text: str = ""


class ServiceChart(BaseModel):
    """A fixed-order chart for one circuit."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    chart: Literal[1]
    circuit: str
    title: str
    source: str
    first: str
    steps: dict[str, Step]
