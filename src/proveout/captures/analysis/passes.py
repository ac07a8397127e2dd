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

_A_CORE = 8
"""Pieces for each core."""

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
    """Return the bounds of the pieces of `count` samples: several a core, so that a busy core takes fewer of them.

    A short record is one piece; `threads` is all of the cores when not given.
    """
    cores = threads or len(os.sched_getaffinity(0))
    number = threads if threads and count < cores * _SHORTEST else min(cores * _A_CORE, 1 + count // _SHORTEST)
    number = 1 if cores == 1 else number
    return [(int(a), int(b)) for a, b in itertools.pairwise(np.linspace(0, count, number + 1).astype(np.int64))]


def on_cores(job: Callable[..., Result], bounds: list[tuple[int, int]], *columns: Iterable[Any]) -> list[Result]:
    """Return `job(bound, ...)` for every piece, in order, on as many threads as there are cores."""
    if len(bounds) == 1:
        return [job(*row) for row in zip(bounds, *columns, strict=True)]
    with ThreadPoolExecutor(min(len(bounds), len(os.sched_getaffinity(0)))) as pool:
        return list(pool.map(job, bounds, *columns))
