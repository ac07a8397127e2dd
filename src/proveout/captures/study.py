"""One capture under study: what several analyses need of a channel is worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.coast_down import coast_down_within, spacing_from_coast_down
from proveout.captures.analysis.crossings import Thresholds, crossings, times_of
from proveout.captures.analysis.dropouts import follow_tempo
from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.features import Features, features
from proveout.captures.analysis.half_cycles import half_cycles
from proveout.captures.analysis.kind import KindOfSignal, dead, kind_of
from proveout.captures.analysis.levels import Levels, find_levels, suggest_thresholds
from proveout.captures.analysis.pattern.find import find_wheel
from proveout.captures.analysis.sharpened import sharpened
from proveout.captures.analysis.speed_trace import SpeedTrace, speed_trace
from proveout.captures.analysis.tooth_amplitude import tooth_swings
from proveout.captures.analysis.tooth_spacing import ToothSpacing, learn_spacing
from proveout.captures.analysis.turn_grid import TurnGrid, turn_grid
from proveout.captures.analysis.weak_half_cycles import without_weak_half_cycles
from proveout.captures.analysis.wheel import WheelFit
from proveout.captures.capture import Capture, Channel
from proveout.captures.findings import RoleTaken
from proveout.errors import InputError

__all__ = ["ChannelStudy", "Study"]

_TOOTHED = ("variable reluctance", "on/off voltage", "two-level current", "direction-coded pulses")


class ChannelStudy:
    """One channel: its levels, its edges, its kind; each found when it is first asked for.

    Every property raises `InputError` where the samples do not allow it (none usable, all the same).
    """

    def __init__(self, channel: Channel) -> None:
        self.channel = channel

    @cached_property
    def levels(self) -> Levels:
        """Low and high level, noise, resolution and clipping."""
        return find_levels(self.channel.samples)

    @cached_property
    def thresholds(self) -> Thresholds:
        """Where edges are timed: halfway between the levels, of a coil at its mean, with hysteresis from the noise."""
        wide = suggest_thresholds(self.channel.samples, self.levels)
        if self.kind.kind != "variable reluctance":
            return wide
        half = min(4 * self.levels.noise + self.levels.resolution, float(wide.high[0] - wide.level[0]))
        return Thresholds.at(self.levels.extent.mean, 2 * half)

    @cached_property
    def _first(self) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        wide = suggest_thresholds(self.channel.samples, self.levels)
        return crossings(self.channel.samples, wide, holds=self.channel.clock.holds)

    @cached_property
    def features(self) -> Features:
        """Figures by which the kind is judged."""
        positions, rising = self._first
        peaks = half_cycles(self.channel.samples, positions, rising)
        return features(
            self.levels,
            Edges(times_of(positions, self.channel.clock), rising),
            peaks,
            self.interval,
        )

    @cached_property
    def kind(self) -> KindOfSignal:
        """What kind of signal it is."""
        return dead(self.channel.unit, self.levels) or kind_of(self.channel.unit, self.levels, self.features)

    @cached_property
    def _kept(self) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.float64]]:
        positions, rising = self._first
        if self.kind.kind != "variable reluctance":
            return positions, rising, half_cycles(self.channel.samples, positions, rising)
        positions, rising = crossings(self.channel.samples, self.thresholds)
        peaks = half_cycles(self.channel.samples, positions, rising)
        keep = without_weak_half_cycles(rising, peaks, float(self.thresholds.level[0]))
        if keep.all():
            return positions, rising, peaks
        positions, rising = positions[keep], rising[keep]
        return positions, rising, half_cycles(self.channel.samples, positions, rising)

    @property
    def positions(self) -> NDArray[np.float64]:
        """Edges in samples from the first one, (edge,)."""
        return self._kept[0]

    @property
    def peaks(self) -> NDArray[np.float64]:
        """Extreme of each half cycle between two edges, (edge - 1,) in the unit of the channel."""
        return self._kept[2]

    @cached_property
    def edges(self) -> Edges:
        """The edges, timed by the clock."""
        return Edges(times_of(self._kept[0], self.channel.clock), self._kept[1])

    @property
    def interval(self) -> float:
        """Time from sample to sample [s], the median of uneven ones; 0 for a list of value changes."""
        clock = self.channel.clock
        if clock.holds:
            return 0.0
        if clock.rate is not None:
            return 1 / clock.rate
        times = np.asarray(clock.times)
        return float(np.median(np.diff(times))) if times.size > 1 else 0.0

    @cached_property
    def usable(self) -> bool:
        """Whether the samples allow an analysis: some are numbers, and they are not all the same."""
        try:
            return self.kind.kind != "dead"
        except InputError:
            return False

    @property
    def toothed(self) -> bool:
        """Whether the signal comes from teeth and its edges may be timed."""
        return self.kind.kind in _TOOTHED and not self.kind.undersampled

    @cached_property
    def wheel(self) -> WheelFit:
        """The wheel that explains the edges, or why none does."""
        coil = self.kind.kind == "variable reluctance"
        return sharpened(find_wheel(self.edges, resolution=self.interval, coil=coil))

    @cached_property
    def risen(self) -> WheelFit:
        """The wheel with the rising edge of each tooth, so that two captures have the same zero.

        Where the falling edges were matched, each is replaced by the rising one before it.
        """
        fit = self.wheel
        if fit.wheel is None or fit.rising:
            return fit
        up = self.edges.up()
        before = np.searchsorted(up, fit.times) - 1
        known = before >= 0
        return replace(
            fit,
            times=np.where(known, up[np.maximum(before, 0)], fit.times),
            place=np.where(known, fit.place, -1),
            rising=True,
        )

    @cached_property
    def teeth(self) -> WheelFit | None:
        """Edges on their teeth, where lost and extra ones can be told: by the wheel, or by the tempo of even teeth."""
        if self.wheel.wheel is not None:
            return self.wheel
        return follow_tempo(self.wheel.times) if self.wheel.even else None

    @cached_property
    def grid(self) -> TurnGrid:
        """Times of the teeth by turn and place; raises `InputError` where there is no wheel."""
        return turn_grid(self.wheel)

    @cached_property
    def spacing(self) -> ToothSpacing:
        """What was learnt of the spacing of the teeth, of all orders where the record has a coast-down."""
        slowing = coast_down_within(self.grid)
        if slowing is not None:
            try:
                return spacing_from_coast_down(slowing)
            except InputError:
                pass  # too few whole turns in a row: what can be learnt without them is learnt
        return learn_spacing(self.grid)

    @cached_property
    def trace(self) -> SpeedTrace:
        """Speed from tooth to tooth, the learnt spacing taken out; raises `InputError` where there is no wheel."""
        return speed_trace(self.grid, self.spacing)

    @cached_property
    def swings(self) -> NDArray[np.float64]:
        """Peak-to-peak swing about each edge of the wheel, (edge,) in the unit of the channel."""
        return tooth_swings(self.channel.samples, self.channel.clock, self.wheel.times)


class Study:
    """A capture with the roles of its channels."""

    def __init__(self, capture: Capture) -> None:
        self.capture = capture
        self.channels = {channel.name: ChannelStudy(channel) for channel in capture.channels}
        self.taken: Mapping[str, RoleTaken] = {}

    def take(self, roles: Mapping[str, RoleTaken]) -> None:
        """Take the channels for what they stand for."""
        self.taken = roles

    def role(self, name: str) -> str:
        """Return what a channel was taken for, empty when nothing was said of it."""
        return self.taken[name].role if name in self.taken else ""

    def by_role(self, *roles: str) -> list[ChannelStudy]:
        """Return the channels that were taken for one of those roles, in the file's order."""
        return [study for name, study in self.channels.items() if self.role(name) in roles]
