"""Harmonics of a signal over each cycle of a four-stroke engine (two turns of the crank)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.errors import InputError

__all__ = ["CycleHarmonics", "cycle_harmonics"]

Array = NDArray[np.float64]
TURNS = 2.0
LEAST_CYCLES = 2


@dataclass(frozen=True)
class CycleHarmonics:
    """Mean harmonics over the cycles, ``signal = Re sum h[k] exp(i k angle / 2)``, k from 1.

    Attributes
    ----------
    mean : (harmonic,) complex128
    uncertainty : (harmonic,) float64
        Standard uncertainty of each of the two parts of the mean, from the scatter of the cycles.
    level : float
        Mean of the signal.
    cycles : int
    """

    mean: NDArray[np.complex128]
    uncertainty: Array
    level: float
    cycles: int


def cycle_harmonics(angles: Array, values: Array, most: int) -> CycleHarmonics:
    """Fit harmonics and a straight trend to each whole cycle.

    Parameters
    ----------
    angles : (k,) float
        Crank angle [turns], increasing.
    values : (k,) float
    most : int
        Highest harmonic of the cycle; of it there are ``most / 2`` orders a turn.

    Raises
    ------
    InputError
        If fewer than two whole cycles have enough values.
    """
    first, last = (angles[0], angles[-1]) if angles.size else (0.0, 0.0)
    edges = np.searchsorted(angles, TURNS * np.arange(np.ceil(first / TURNS), np.floor(last / TURNS) + 1))
    found = []
    needed = 2 * most + 4
    for begin, end in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        if end - begin >= needed:
            found.append(_fit(angles[begin:end], values[begin:end], most))
    if len(found) < LEAST_CYCLES:
        raise InputError(
            f"{len(found)} whole cycles with enough values are too few to compare cylinders; record at least "
            f"{LEAST_CYCLES} (four turns), better ten"
        )
    harmonics = np.array([f[0] for f in found])
    mean = harmonics.mean(axis=0)
    away = np.abs(harmonics - mean) ** 2
    spread = np.sqrt(away.sum(axis=0) / (len(found) - 1) / 2.0 / len(found))
    return CycleHarmonics(mean, spread, float(np.mean([f[1] for f in found])), len(found))


def _fit(angles: Array, values: Array, most: int) -> tuple[NDArray[np.complex128], float]:
    wave = np.pi * np.arange(1, most + 1) * angles[:, None]
    middle = float(values.mean())
    straight = (angles - angles.mean())[:, None]
    basis = np.hstack([np.ones_like(straight), straight, np.cos(wave), -np.sin(wave)])
    found = np.linalg.lstsq(basis, values - middle, rcond=None)[0]
    return found[2 : 2 + most] + 1j * found[2 + most :], middle + float(found[0])
