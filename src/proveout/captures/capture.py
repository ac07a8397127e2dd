"""A recorded signal as data: channels with their clocks, where they came from, and what was guessed on the way in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.errors import InputError

__all__ = ["Capture", "Channel", "Clock", "Guess", "Origin", "Samples"]

Samples = NDArray[np.float32] | NDArray[np.float64]


@dataclass(frozen=True)
class Clock:
    """When the samples of a channel were taken.

    Attributes
    ----------
    start : float
        Time of the first sample [s].
    rate : float or None
        Samples per second of evenly sampled values [Hz]; None when `times` says it.
    times : (sample,) float64 or None
        Time of each sample [s], increasing; None when evenly sampled.
    holds : bool
        Whether a value holds until the next one (a list of value changes) instead of being a sample of a curve.
    """

    start: float = 0.0
    rate: float | None = None
    times: NDArray[np.float64] | None = None
    holds: bool = False

    def __post_init__(self) -> None:
        if (self.rate is None) == (self.times is None):
            raise InputError("a clock has either a sample rate or a time for each sample; give one of the two")
        if self.rate is not None and not (math.isfinite(self.rate) and self.rate > 0):
            raise InputError(f"sample rate is {self.rate} Hz; it must be positive and finite")

    @property
    def even(self) -> bool:
        """Whether the samples are evenly spaced in time."""
        return self.rate is not None

    def at(self, index: NDArray[np.float64] | NDArray[np.int64] | float) -> NDArray[np.float64]:
        """Return the time [s] of a sample index, whole or between two samples."""
        place = np.asarray(index, dtype=float)
        if self.rate is not None:
            return self.start + place / self.rate
        times = np.asarray(self.times)
        return np.interp(place, np.arange(times.size), times)


@dataclass(frozen=True)
class Channel:
    """One recorded quantity.

    Attributes
    ----------
    name : str
        As the file calls it, or `channel 1` where it does not.
    unit : str
        Symbol of the SI unit of the samples (`V`, `A`, `Pa`, `°C`, `1` for logic); empty when the file does not say.
    samples : (sample,) float32 or float64
        In that unit, probe attenuation and clamp scale already applied; may be a memory map. NaN where nothing usable
        was recorded.
    clock : Clock
        When they were taken.
    over_low, over_high : float or None
        Limits at which the recorder clips, where the file says so (over-range marks); None when unknown.
    """

    name: str
    unit: str
    samples: Samples
    clock: Clock
    over_low: float | None = None
    over_high: float | None = None

    @property
    def duration(self) -> float:
        """Time from the first to the last sample [s]."""
        count = self.samples.size
        return float(self.clock.at(count - 1) - self.clock.at(0)) if count > 1 else 0.0


@dataclass(frozen=True)
class Guess:
    """One thing that the file did not say and a reader decided: shown to the user, who may overrule it.

    `setting` is the name under which it is overruled (`rate`, `time-unit`, `attenuation`, `clamp`, `role`), empty when
    it cannot be; `channel` is empty for the whole file.
    """

    what: str
    taken: str
    why: str
    setting: str = ""
    channel: str = ""


@dataclass(frozen=True)
class Origin:
    """The file that a capture came from, unaltered under its fingerprint."""

    name: str
    format: Literal["csv", "wav", "mdf", "parquet", "arrow", "numpy", "vcd"] | str
    size: int
    sha256: str


@dataclass(frozen=True)
class Capture:
    """Everything that was read from one file.

    `notes` are sentences about what is odd in the file (time stamps twice, samples clipped, rows cut short); `details`
    are what its preamble says (instrument, date), as text.
    """

    channels: tuple[Channel, ...]
    origin: Origin
    guesses: tuple[Guess, ...] = ()
    notes: tuple[str, ...] = ()
    details: Mapping[str, str] = field(default_factory=dict)

    def channel(self, name: str) -> Channel:
        """Return the channel of that name.

        Raises
        ------
        InputError
            If there is none; the message lists the names.
        """
        for channel in self.channels:
            if channel.name == name:
                return channel
        names = ", ".join(f"'{channel.name}'" for channel in self.channels)
        raise InputError(f"the capture has no channel '{name}'; it has {names}")
