"""What a user says about a file that the file does not say, or says wrongly: each field overrules one guess."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Literal

from proveout.errors import InputError

__all__ = ["ALL", "TIME_UNITS", "Blanks", "ChannelOverrule", "Overrules"]

Blanks = Literal["gap", "absent"]

ALL = "*"
"""Stands for every channel that is not named itself."""

TIME_UNITS: Mapping[str, float] = MappingProxyType(
    {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0}
)
"""Second per unit of time."""


@dataclass(frozen=True)
class ChannelOverrule:
    """What is said about one channel.

    Attributes
    ----------
    name : str or None
        Another name.
    unit : str or None
        Unit of the numbers in the file, before attenuation and clamp.
    attenuation : float or None
        Probe attenuation that the numbers do not contain yet: 10 for a 10:1 probe. They are multiplied by it.
    clamp : float or None
        Scale of a current clamp [A/V]: 100 for 10 mV/A. Volts become amperes.
    full_scale : float or None
        What the largest number of a file without units stands for [unit of the channel].
    """

    name: str | None = None
    unit: str | None = None
    attenuation: float | None = None
    clamp: float | None = None
    full_scale: float | None = None

    def __post_init__(self) -> None:
        for key in ("attenuation", "clamp", "full_scale"):
            value = getattr(self, key)
            if value is not None and not (math.isfinite(value) and value != 0):
                raise InputError(f"{key.replace('_', '-')} is {value}; give a finite number other than 0")


@dataclass(frozen=True)
class Overrules:
    """What is said about a file; None leaves it to the reader.

    Attributes
    ----------
    rate : float or None
        Samples per second [Hz]; time stamps in the file are then not used.
    time_unit : str or None
        Unit of the time column: a key of `TIME_UNITS`.
    time_column : str or None
        Name of the column that holds the time; `none` when no column does.
    delimiter, decimal, encoding : str or None
        How a CSV file is written: the sign between cells, the decimal sign, the encoding of its text.
    holds : bool or None
        Whether a value holds until the next one.
    blanks : 'gap', 'absent' or None
        What an empty cell means: a sample that is missing, or none that was due.
    channels : mapping
        By the name in the file, or `ALL`.
    """

    rate: float | None = None
    time_unit: str | None = None
    time_column: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    encoding: str | None = None
    holds: bool | None = None
    blanks: Blanks | None = None
    channels: Mapping[str, ChannelOverrule] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.rate is not None and not (math.isfinite(self.rate) and self.rate > 0):
            raise InputError(f"rate is {self.rate} Hz; it must be positive and finite")
        if self.time_unit is not None and self.time_unit not in TIME_UNITS:
            raise InputError(f"time-unit is '{self.time_unit}'; choose one of {', '.join(TIME_UNITS)}")
        if self.delimiter is not None and (len(self.delimiter) != 1 or self.delimiter in '"\r\n'):
            raise InputError(f"delimiter is '{self.delimiter}'; give one sign such as ; or ,")
        if self.decimal not in (None, ".", ","):
            raise InputError(f"decimal is '{self.decimal}'; it is . or ,")
        if self.blanks not in (None, "gap", "absent"):
            raise InputError(f"blanks is '{self.blanks}'; it is gap or absent")

    def of(self, channel: str) -> ChannelOverrule:
        """Return what is said about a channel, by its own name before `ALL`."""
        own = self.channels.get(channel, ChannelOverrule())
        rest = self.channels.get(ALL, ChannelOverrule())
        said = {f.name: getattr(own, f.name) for f in fields(own)}
        return ChannelOverrule(**{key: getattr(rest, key) if value is None else value for key, value in said.items()})
