"""A min/max pyramid over the samples of one channel: any stretch of any length as a picture of so many columns."""

from __future__ import annotations

import os
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Clock, Samples
from proveout.captures.pyramid.build import first_level, level_sizes, next_level
from proveout.captures.pyramid.query import column_extremes
from proveout.errors import InputError, StoreError

__all__ = ["Pyramid", "build", "open_pyramid", "write_pyramid"]

_MOST_COLUMNS = 1 << 20
_NEAR = 1e-6  # of a step between samples: a time so close to a sample is meant to be its time


@dataclass(frozen=True)
class Pyramid:
    """Samples with the extremes of their blocks.

    Attributes
    ----------
    samples : (sample,) float32 or float64
        May be a memory map.
    extremes : (2, value) of the same type
        Least and most of all levels, one behind the other; may be a memory map.
    starts : (level + 1,) int64
        Where each level begins, and where the last one ends.
    """

    samples: Samples
    extremes: Samples
    starts: NDArray[np.int64]

    def envelope(self, first: int, last: int, columns: int) -> NDArray[np.float64]:
        """Return the extremes of a stretch of samples, cut into columns of as equal a length as can be.

        Parameters
        ----------
        first, last : int
            Sample indices, `last` excluded.
        columns : int
            A column that holds no sample, because there are more columns than samples, is NaN.

        Returns
        -------
        (columns, 2) float64
            Least and most, exact.

        Raises
        ------
        InputError
            The stretch lies outside of the samples or is empty, or there is no column.
        """
        count = self.samples.size
        if not 0 <= first < last <= count:
            raise InputError(f"samples {first} to {last} are asked for; the channel has samples 0 to {count}")
        bounds = first + (last - first) * np.arange(_checked(columns) + 1, dtype=np.int64) // columns
        return self._between(bounds)

    def envelope_between(self, clock: Clock, begin: float, end: float, columns: int) -> NDArray[np.float64]:
        """Return the extremes of columns of equal time, for samples even or not.

        Parameters
        ----------
        clock : Clock
            Of the channel.
        begin, end : float [s]
            The picture's ends; they may reach beyond the samples.
        columns : int

        Returns
        -------
        (columns, 2) float64
            NaN where no sample falls into a column. For values that hold, a column begins with the value that holds
            when it begins.

        Raises
        ------
        InputError
            `end` is not after `begin`, or there is no column.
        """
        if not begin < end:
            raise InputError(f"the picture ends at {end} s and begins at {begin} s; the end must come later")
        edges = begin + (end - begin) * np.arange(_checked(columns) + 1) / columns
        bounds = self._indices(clock, edges)
        result = self._between(bounds)
        if clock.holds:
            result = self._with_held(result, clock, edges[:-1])
        return result

    def _with_held(
        self, extremes: NDArray[np.float64], clock: Clock, begins: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Take in the value that holds when a column begins, up to the last sample."""
        if clock.rate is not None:
            before = np.floor(np.clip((begins - clock.start) * clock.rate + _NEAR, -1, self.samples.size - 1)).astype(
                int
            )
        else:
            before = np.searchsorted(np.asarray(clock.times), begins, side="right") - 1
        last = float(clock.at(self.samples.size - 1))
        held = np.where((before >= 0) & (begins <= last), self.samples[np.maximum(before, 0)], np.nan)
        return np.stack([np.fmin(extremes[:, 0], held), np.fmax(extremes[:, 1], held)], axis=1)

    def _indices(self, clock: Clock, edges: NDArray[np.float64]) -> NDArray[np.int64]:
        """Return the first sample at or after each time."""
        count = self.samples.size
        if clock.rate is not None:
            place = np.clip(np.ceil((edges - clock.start) * clock.rate - _NEAR), 0, count)
            return place.astype(np.int64)
        return np.searchsorted(np.asarray(clock.times), edges, side="left").astype(np.int64)

    def _between(self, bounds: NDArray[np.int64]) -> NDArray[np.float64]:
        result: NDArray[np.float64] = column_extremes(
            self.samples, self.extremes[0], self.extremes[1], self.starts, bounds
        )
        return result


def build(samples: Samples) -> Pyramid:
    """Return the pyramid over samples, in memory.

    Raises
    ------
    InputError
        There is no sample.
    """
    sizes = _sizes(samples)
    extremes = np.empty((2, sum(sizes)), dtype=samples.dtype)
    return _filled(samples, extremes, sizes)


def write_pyramid(samples: Samples, path: Path) -> Pyramid:
    """Build the pyramid over samples into a file, which then is mapped; the file appears whole or not at all.

    Raises
    ------
    InputError
        There is no sample.
    StoreError
        The file cannot be written.
    """
    partial = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        pyramid = build(samples)
        with partial.open("wb") as file:
            np.save(file, pyramid.extremes, allow_pickle=False)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    except OSError as error:
        partial.unlink(missing_ok=True)
        raise StoreError(f"'{path}' cannot be written: {error.strerror or error}; make room and try again") from error
    return open_pyramid(samples, path)


def open_pyramid(samples: Samples, path: Path) -> Pyramid:
    """Map the pyramid of samples from its file.

    Raises
    ------
    StoreError
        The file is not there, damaged, or belongs to other samples.
    """
    sizes = _sizes(samples)
    try:
        extremes = np.load(path, mmap_mode="r", allow_pickle=False)
    except (OSError, ValueError, EOFError) as error:
        raise StoreError(f"'{path}' cannot be read: {error}; delete it, it is made anew") from error
    if extremes.shape != (2, sum(sizes)) or extremes.dtype != samples.dtype:
        raise StoreError(f"'{path}' does not belong to {samples.size} samples of {samples.dtype}; delete it")
    return Pyramid(samples, extremes, _starts(sizes))


def _filled(samples: Samples, extremes: Samples, sizes: list[int]) -> Pyramid:
    starts = _starts(sizes)
    low, high = extremes
    if sizes:
        first_level(samples, low[: sizes[0]], high[: sizes[0]])
    for below, (begin, end) in enumerate(pairwise(starts[1:])):
        part = slice(int(starts[below]), int(begin))
        next_level(low[part], high[part], low[begin:end], high[begin:end])
    return Pyramid(samples, extremes, starts)


def _sizes(samples: Samples) -> list[int]:
    if not samples.size:
        raise InputError("there is no sample to draw; the channel is empty")
    return level_sizes(samples.size)


def _starts(sizes: list[int]) -> NDArray[np.int64]:
    return np.cumsum([0, *sizes], dtype=np.int64)


def _checked(columns: int) -> int:
    if not 1 <= columns <= _MOST_COLUMNS:
        raise InputError(f"{columns} columns are asked for; give 1 to {_MOST_COLUMNS}")
    return columns
