"""The advice as plain data: what to do next, how, why, what each result would leave, what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Advice", "Band", "Leads", "Opinion", "Possible", "Shop", "StepAdvice"]


@dataclass(frozen=True)
class Shop:
    """What the workshop and the vehicle are like now.

    Attributes
    ----------
    labour_rate : float
        Money per hour.
    wrong_repair : float
        Money that a repair which does not cure costs on top of itself: the comeback, the customer's trust.
    opened : frozenset of str
        Access operations done.
    setup : str or None
        Set-up the vehicle is in.
    blocked : frozenset of str
        Connectors at which the harness check found a mismatch: no probing there, nor anything that relies on it.
    cannot : frozenset of str
        Measurements, looks, behaviours and trials that cannot be done on this vehicle.
    minutes_left, money_left : float or None
        What the customer authorised, less what is spent.
    currency : str
        Written behind money.
    """

    labour_rate: float = 90.0
    wrong_repair: float = 150.0
    opened: frozenset[str] = frozenset()
    setup: str | None = None
    blocked: frozenset[str] = frozenset()
    cannot: frozenset[str] = frozenset()
    minutes_left: float | None = None
    money_left: float | None = None
    currency: str = ""


@dataclass(frozen=True)
class Opinion:
    """One suspect with its probability."""

    suspect: str
    title: str
    probability: float


@dataclass(frozen=True)
class Leads:
    """Where the leads go, in words and as points of the circuit; `place` is where a gauge or thermometer is put."""

    red: str
    black: str
    red_title: str
    black_title: str
    function: str
    through: str = ""
    place: str = ""


@dataclass(frozen=True)
class Band:
    """A span of readings; None is unbounded."""

    low: float | None
    high: float | None
    shown: str


@dataclass(frozen=True)
class Possible:
    """One possible result of the step: what it looks like, how likely it is, what it leaves and what it rules out."""

    label: str
    probability: float
    leaves: tuple[Opinion, ...]
    rules_out: tuple[str, ...]


@dataclass(frozen=True)
class StepAdvice:
    """One step that may be taken.

    `kind` is measure, look, watch (a behaviour), try (a trial) or repair; `name` is its name in the circuit, or the
    suspect's. Minutes and money are those of the step itself from here, access and set-up included; `cost_to_end` is
    the expected money from now to a proven repair when this step is taken first.
    """

    kind: Literal["measure", "look", "watch", "try", "repair"]
    name: str
    title: str
    setup: str
    setup_steps: tuple[str, ...]
    access_steps: tuple[str, ...]
    leads: Leads | None
    expected_good: Band | None
    limit: Band | None
    limit_note: str
    minutes: float
    money: float
    cost_to_end: float
    information_bits: float
    cautions: tuple[str, ...]
    results: tuple[Possible, ...]
    why: str


@dataclass(frozen=True)
class Advice:
    """What to do next.

    Attributes
    ----------
    stop : str
        Empty, or why testing should stop here (repair is cheaper, the drawing must be wrong, nothing is left to test).
    lower_bound : float
        No plan can be expected to cost less than this.
    chance_within : float or None
        Probability of a proven cause within what the customer authorised.
    doubt : str
        What does not fit: the reading at odds, a connection that the drawing may lack; empty when all is well.
    """

    best: StepAdvice
    others: tuple[StepAdvice, ...]
    suspects: tuple[Opinion, ...]
    cost_to_end: float
    minutes_to_end: float
    lower_bound: float
    stop: str
    chance_within: float | None
    doubt: str
    explained: float
