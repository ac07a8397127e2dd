"""Reads the description of a meter from a YAML file, with a source beside each value."""

from __future__ import annotations

import math
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal, TypeVar

import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from proveout.errors import InputError

from .functions import Function
from .meter import Broad, Capability, Meter, Range

__all__ = ["default_meter", "load_meter", "read_meter"]

Sheet = TypeVar("Sheet", bound=BaseModel)


class _Sheet(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    source: str = Field(min_length=1)


class _Value(_Sheet):
    value: float


class _RangeSheet(_Sheet):
    full_scale: float = Field(gt=0)
    resolution: float = Field(gt=0)
    percent: float = Field(ge=0)
    counts: float = Field(ge=0)
    series_resistance: float = Field(default=0.0, ge=0)

    @model_validator(mode="after")
    def _check_step(self) -> _RangeSheet:
        lead = self.resolution / 10.0 ** math.floor(math.log10(self.resolution) + 1e-9)
        if min(abs(lead - step) for step in (1, 2, 5)) > 1e-6 or self.resolution > self.full_scale:
            raise ValueError("resolution must be 1, 2 or 5 times a power of ten and below full_scale")
        return self


class _BroadSheet(_Sheet):
    shape: Literal["mixture", "log"]
    over_limit_mass: float = Field(gt=0, lt=1)
    low: float = 0.0
    high: float = 0.0
    weight: float = Field(default=0.0, ge=0, lt=1)


class _FunctionSheet(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    least: _Value
    input_resistance: _Value | None = None
    open_circuit_volts: _Value | None = None
    ranges: tuple[_RangeSheet, ...] = Field(min_length=1)
    broad: _BroadSheet

    @model_validator(mode="after")
    def _check_span(self) -> _FunctionSheet:
        tops = [r.full_scale for r in self.ranges]
        if tops != sorted(set(tops)):
            raise ValueError("ranges must be in ascending order of full_scale")
        if not -tops[-1] <= self.least.value <= 0.0:
            raise ValueError("least must lie between minus the highest full_scale and 0")
        ordinary = self.broad
        if ordinary.shape == "mixture" and not self.least.value <= ordinary.low < ordinary.high <= tops[-1]:
            raise ValueError("broad: low and high must be in ascending order and within what the function can show")
        return self


class _LeadSheet(_Sheet):
    resistance: float = Field(ge=0)
    uncertainty: float = Field(ge=0)
    zeroed: bool


class _MeterSheet(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = Field(min_length=1)
    leads: _LeadSheet
    continuity_threshold: _Value
    functions: dict[Function, _FunctionSheet] = Field(min_length=1)

    @model_validator(mode="after")
    def _check_functions(self) -> _MeterSheet:
        for function, sheet in self.functions.items():
            problem = _missing(function, sheet)
            if problem:
                raise ValueError(f"functions.{function}: {problem}")
        return self


class _GaugeSheet(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    functions: dict[Function, _FunctionSheet] = Field(min_length=1)


def _missing(function: Function, sheet: _FunctionSheet) -> str:
    """Name what a function of this kind needs and the sheet lacks, or return nothing."""
    if function.drives:
        if sheet.open_circuit_volts is None or sheet.open_circuit_volts.value <= 0:
            return "open_circuit_volts must be given and positive"
        if any(r.series_resistance <= 0 for r in sheet.ranges):
            return "each range needs a positive series_resistance, the one behind the test voltage"
    elif function.kind == "voltage" and (sheet.input_resistance is None or sheet.input_resistance.value <= 0):
        return "input_resistance must be given and positive"
    return ""


def _capability(function: Function, sheet: _FunctionSheet) -> Capability:
    return Capability(
        function=function,
        ranges=tuple(
            Range(r.full_scale, r.resolution, r.percent / 100.0, r.counts, r.series_resistance) for r in sheet.ranges
        ),
        least=sheet.least.value,
        broad=Broad(**sheet.broad.model_dump(exclude={"source"})),
        input_resistance=sheet.input_resistance.value if sheet.input_resistance else math.inf,
        open_circuit_volts=sheet.open_circuit_volts.value if sheet.open_circuit_volts else 0.0,
    )


def read_meter(text: str, name: str) -> Meter:
    """Read a meter's description from the text of a file; `name` stands in messages. Raises as `load_meter`.

    Gauges, thermometers and counting that the file does not describe are those that come with the package.
    """
    sheet = _validated(_MeterSheet, text, name)
    own = tuple(_capability(f, sheet.functions[f]) for f in Function if f in sheet.functions)
    return Meter(
        name=sheet.name,
        capabilities=(*own, *(gauge for gauge in _default_gauges() if gauge.function not in sheet.functions)),
        lead_resistance=sheet.leads.resistance,
        lead_uncertainty=sheet.leads.uncertainty,
        leads_zeroed=sheet.leads.zeroed,
        continuity_threshold=sheet.continuity_threshold.value,
    )


@cache
def _default_gauges() -> tuple[Capability, ...]:
    sheet = _validated(_GaugeSheet, *_packaged("gauges.yaml"))
    return tuple(_capability(f, sheet.functions[f]) for f in Function if f in sheet.functions)


def _packaged(name: str) -> tuple[str, str]:
    """Return the text and the name of a file that comes with the package."""
    file = resources.files(__package__) / "meters" / name
    return file.read_text(encoding="utf-8"), name


def _validated(model: type[Sheet], text: str, name: str) -> Sheet:
    try:
        content: Any = yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    except yaml.YAMLError as error:
        raise InputError(f"{name}: not a YAML file: {error}. Correct the line named") from error
    try:
        return model.model_validate(content)
    except ValidationError as error:
        lines = [
            f"  {'.'.join(map(str, e['loc'])) or 'file'}: {e['msg']}; found {e['input']!r:.60}" for e in error.errors()
        ]
        raise InputError("\n".join([f"{name}: the meter's description has mistakes; correct them", *lines])) from error


def load_meter(path: Path) -> Meter:
    """Read a meter's description.

    Parameters
    ----------
    path : Path
        A YAML file laid out as `meters/general_purpose.yaml` of this package.

    Raises
    ------
    InputError
        The file cannot be read, is not YAML, or has mistakes, all of which are listed with their places.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path}: the meter's description cannot be read: {error}. Check the path") from error
    return read_meter(text, str(path))


@cache
def default_meter() -> Meter:
    """Return the general-purpose meter and scope that come with the package (invented, of no make)."""
    return read_meter(*_packaged("general_purpose.yaml"))
