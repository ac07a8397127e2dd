"""Where a signal rests: its low and its high level, its noise, and the thresholds that follow from them.

States and transitions as IEEE Std 181-2011 names them: levels from the histogram's two modes (5.2.1), transition time
between 10 % and 90 % of the swing (5.3.3).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.crossings import Thresholds
from proveout.captures.analysis.extent import Extent, extent
from proveout.captures.capture import Samples
from proveout.errors import InputError

__all__ = ["Levels", "excerpt", "find_levels", "noise_of", "resolution_of", "suggest_thresholds"]

_BLOCKS, _BLOCK = 128, 1024

_NOISE_WIDTHS = 8.0
"""Width of the hysteresis in standard deviations of the noise: four on either side."""

_BORDER = 0.2
"""Share of the swing about a mode within which samples count as resting at that level."""

_THIRD, _SELDOM = 0.2, 0.005
"""Relative distance from one of three levels within which a sample rests at it, and the least share of each."""

_CLOSE = 0.05
"""Relative distance below which two values are one step of the recorder apart."""

_GROUPS = 32
"""Parts of the record whose medians tell how a level scatters."""

_RARE = 0.0005
"""Share of the samples at either end that makes no level."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Levels:
    """The two levels of a signal, and how well they are known; all in the samples' unit unless said otherwise.

    Attributes
    ----------
    low, high : float
        Medians of the samples that rest near the histogram's lower and upper mode.
    low_error, high_error : float
        Standard uncertainty of each, from its scatter over the record and the recorder's resolution.
    noise : float
        Standard deviation from sample to sample; from second differences, so that slopes do not count, or from the
        scatter about the levels where that is less. With few samples a tooth of a curve it is an upper limit.
    resolution : float
        Smallest step of the recorder, 0 when none shows.
    third : float
        A third level at four times the low one (28 mA over 7 mA), NaN if there is none; `high` is then the middle one.
    resting : float
        Share of the samples that rest at one of the two levels: near 1 for a switched signal, 0.4 for a sine.
    duty : float
        Share of the samples above the middle [1].
    clipped_low, clipped_high : float
        Share of the samples that stand flat at the least and the greatest value, where that is more than the shape of
        the signal explains [1].
    extent : Extent
        Least, greatest and mean value and the count of missing samples of the whole record.
    """

    low: float
    high: float
    low_error: float
    high_error: float
    noise: float
    resolution: float
    third: float
    resting: float
    duty: float
    clipped_low: float
    clipped_high: float
    extent: Extent

    @property
    def swing(self) -> float:
        """High level less low level."""
        return self.high - self.low

    @property
    def middle(self) -> float:
        """Halfway between the levels."""
        return (self.low + self.high) / 2

    @property
    def signal_to_noise(self) -> float:
        """Ratio of half the swing to the noise [dB]; infinite when there is no noise."""
        return 20 * math.log10(self.swing / 2 / self.noise) if self.noise > 0 < self.swing else math.inf


def excerpt(samples: Samples) -> Floats:
    """Return up to 131 072 samples: all of a short record, or whole blocks evenly spread over a long one.

    Blocks keep neighbours together, so that a periodic signal is not aliased as by taking every n-th sample. The result
    is (block, sample) float64 with NaN where the record has none; infinite values count as none.
    """
    if samples.size <= _BLOCKS * _BLOCK:
        width = max(64, -(-samples.size // 64))
        part = np.full((-(-samples.size // width), width), np.nan)
        part.ravel()[: samples.size] = samples
    else:
        starts = np.linspace(0, samples.size - _BLOCK, _BLOCKS).astype(np.int64)
        part = np.stack([samples[start : start + _BLOCK] for start in starts]).astype(np.float64)
    part[~np.isfinite(part)] = np.nan
    return part


def noise_of(part: Floats) -> float:
    """Return the standard deviation of the noise from sample to sample, in the samples' unit.

    From the median size of the second differences, which steps and slow curves hardly touch: for white noise of
    standard deviation s they have sqrt(6) s, and the median size of a normal value is 0.6745 standard deviations. With
    few samples a tooth the curve itself counts, so that the value is then an upper limit.
    """
    bends = np.abs(np.diff(part, n=2, axis=-1))
    bends = bends[np.isfinite(bends)]
    return float(np.median(bends)) / (0.6745 * 6**0.5) if bends.size else 0.0


def resolution_of(values: Floats) -> float:
    """Return the recorder's smallest step [unit of the values], 0 when the values show none.

    The least distance between different values counts when the others are whole multiples of it. Two values alone are a
    step where they lie close together against their size, and otherwise the two levels of a signal without noise.
    """
    seen = np.unique(values[: 1 << 16])
    if seen.size < 3:
        return float(np.ptp(seen)) if np.ptp(seen) < _CLOSE * float(np.abs(seen).max(initial=0.0)) else 0.0
    steps = np.diff(seen)
    grain = 4 * float(np.finfo(np.float32).eps) * float(np.abs(seen).max())
    steps = steps[steps > grain]
    if steps.size == 0:
        return 0.0
    step = float(np.median(steps[steps < 1.5 * steps.min()]))
    off = np.abs((steps / step + 0.5) % 1 - 0.5)
    return step if step > 10 * grain and np.mean(off < 0.1) > 0.95 and np.mean(off) < 0.05 else 0.0


def find_levels(samples: Samples, *, threads: int | None = None) -> Levels:
    """Return the levels of a record.

    Parameters
    ----------
    samples : (sample,) float32 or float64
        NaN and infinite values are left out.
    threads : int, optional
        Cores to use; all of them when not given.

    Raises
    ------
    InputError
        If no sample is usable.
    """
    whole = extent(samples, threads=threads)
    if whole.usable == 0:
        raise InputError(f"none of the {samples.size} samples is a number; there is no level to find")
    part = excerpt(samples)
    values = part[np.isfinite(part)]
    if values.size == 0 or whole.least == whole.greatest:
        flat = whole.least
        return Levels(flat, flat, 0.0, 0.0, 0.0, 0.0, math.nan, 1.0, 0.0, 0.0, 0.0, whole)
    low, high = _modes(values)
    middle, resolution = (low + high) / 2, resolution_of(values)
    noise = min(noise_of(part), _about_levels(values, low, high))
    low, high, third = _three(values, low, high)
    middle = (low + high) / 2
    border = min(_BORDER * (high - low) + noise, 0.3 * (high - low))
    at_low = (np.abs(part - low) <= border) & (part < middle)
    at_high = (np.abs(part - high) <= border) & (part >= middle)
    low, low_error = _settled(part, at_low, low)
    high, high_error = _settled(part, at_high, high)
    clip_low, clip_high = _clipped(values, whole.least), _clipped(values, whole.greatest)
    grain = resolution / 12**0.5
    return Levels(
        low,
        high,
        math.hypot(low_error, grain),
        math.hypot(high_error, grain),
        noise,
        resolution,
        third,
        float(np.mean((at_low | at_high | (np.abs(part - third) <= border))[np.isfinite(part)])),
        float(np.mean(values >= middle)),
        clip_low,
        clip_high,
        whole,
    )


def suggest_thresholds(samples: Samples, levels: Levels | None = None) -> Thresholds:
    """Return a level halfway between the two levels of the samples, with a hysteresis that noise does not cross.

    The hysteresis is eight standard deviations of the noise wide, but at least two of the recorder's steps and a tenth
    of the swing, and at most 60 % of the swing.

    Raises
    ------
    InputError
        If the samples are all the same or none is usable: there is no edge to find.
    """
    levels = levels or find_levels(samples)
    if levels.swing <= 0:
        raise InputError(f"{levels.extent.usable} usable samples, all the same; edges need a signal that changes")
    least = max(_NOISE_WIDTHS * levels.noise, 2 * levels.resolution, 0.1 * levels.swing)
    return Thresholds.at(levels.middle, min(least, 0.6 * levels.swing))


def _modes(values: Floats) -> tuple[float, float]:
    """Return the centres of two clusters (Lloyd's iteration from the extremes, on a histogram).

    The outermost samples are left out, so that a spike is no level, unless nothing else then stands out of the noise.
    """
    counts, borders = np.histogram(values, bins=1024, range=_usual_range(values))
    centres = (borders[:-1] + borders[1:]) / 2
    split = float(borders[0] + borders[-1]) / 2
    for _ in range(100):
        below = centres < split
        low = float(np.average(centres[below], weights=counts[below]))
        high = float(np.average(centres[~below], weights=counts[~below]))
        if abs((low + high) / 2 - split) <= borders[1] - borders[0]:
            break
        split = (low + high) / 2
    return low, high


def _three(values: Floats, low: float, high: float) -> tuple[float, float, float]:
    """Return the levels, the third one NaN unless all samples rest at one, two and four times the low level.

    A sensor that tells reverse by a third level has 7, 14 and 28 mA (ES1337.2 user's guide, section 2.1.3); two
    clusters are then any two of the three.
    """
    if low <= 0:
        return low, high, math.nan
    for least in (low, low / 1.5, high / 2):
        at = [np.abs(values / (factor * least) - 1) < _THIRD for factor in (1, 2, 4)]
        shares = [float(np.mean(level)) for level in at]
        if sum(shares) > 0.95 and min(shares) > _SELDOM:
            found = [float(np.median(values[level])) for level in at]
            return found[0], found[1], found[2]
    return low, high, math.nan


def _usual_range(values: Floats) -> tuple[float, float]:
    rare = max(int(_RARE * values.size), 1)
    if values.size > 4 * rare:
        ordered = np.partition(values, [rare, values.size // 2, values.size - rare - 1])
        low, high = float(ordered[rare]), float(ordered[-rare - 1])
        usual = np.median(np.abs(values - ordered[values.size // 2])) / 0.6745
        if high - low > 8 * usual or usual > 0.1 * (values.max() - values.min()):
            return low, high
    return float(values.min()), float(values.max())


def _about_levels(values: Floats, low: float, high: float) -> float:
    """Return the standard deviation about the levels of those samples that rest, by their median distance."""
    middle = (low + high) / 2
    sides = [values[values < middle], values[values >= middle]]
    away = np.concatenate([np.abs(side - np.median(side)) for side in sides if side.size])
    return float(np.median(away)) / 0.6745


def _settled(part: Floats, at_level: NDArray[np.bool_], start: float) -> tuple[float, float]:
    """Return the median of the samples at a level, and its uncertainty from how the blocks' medians scatter."""
    kept = part[at_level]
    if kept.size == 0:
        return start, 0.0
    step = max(len(part) // _GROUPS, 1)
    rows = [part[k : k + step][at_level[k : k + step]] for k in range(0, len(part), step)]
    medians = np.array([np.median(row) for row in rows if row.size >= 8])
    if medians.size < 4:
        return float(np.median(kept)), float(np.std(kept)) / kept.size**0.5
    return float(np.median(kept)), 1.2533 * float(np.std(medians, ddof=1)) / medians.size**0.5


def _clipped(values: Floats, limit: float) -> float:
    """Return the share of samples flat at a limit, 0 unless far more stand there than a little inside of it."""
    flat = float(np.mean(values == limit))
    span = float(values.max() - values.min())
    inside = np.abs(values - limit)
    near = float(np.mean((inside > 0) & (inside <= 0.01 * span)))
    return flat if flat > 0.001 and flat > 4 * near else 0.0
