"""One pass over a long record, split over the cores; each compiled kernel lets go of the interpreter while it runs."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

import numpy as np

from proveout.captures.capture import Samples
from proveout.errors import InputError

__all__ = ["on_cores", "pieces", "readable"]

_SHORTEST = 1 << 18
"""Samples below which a second core costs more than it brings."""

Result = TypeVar("Result")


def readable(samples: Samples) -> Samples:
    """Return the samples as the one layout that the kernels are compiled for: contiguous and read-only.

    Raises
    ------
    InputError
        If they are not one row of floating-point numbers.
    """
    if samples.ndim != 1 or samples.dtype not in (np.float32, np.float64):
        raise InputError(
            f"samples have shape {samples.shape} and type {samples.dtype}; give one row of float32 or float64"
        )
    x = np.ascontiguousarray(samples).view(np.ndarray).view()
    x.flags.writeable = False
    return x


def pieces(count: int, threads: int | None = None) -> list[tuple[int, int]]:
    """Return the bounds of one piece of `count` samples a core; `threads` is all of the cores when not given."""
    workers = threads or min(len(os.sched_getaffinity(0)), 1 + count // _SHORTEST)
    return [(int(a), int(b)) for a, b in itertools.pairwise(np.linspace(0, count, workers + 1).astype(np.int64))]


def on_cores(job: Callable[..., Result], bounds: list[tuple[int, int]], *columns: Iterable[Any]) -> list[Result]:
    """Return `job(bound, ...)` for every piece, in order, with one thread a piece."""
    if len(bounds) == 1:
        return [job(*row) for row in zip(bounds, *columns, strict=True)]
    with ThreadPoolExecutor(len(bounds)) as pool:
        return list(pool.map(job, bounds, *columns))
