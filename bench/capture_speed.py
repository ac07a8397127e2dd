"""How true the speed is that edges of imperfect teeth give, in the orders that can be told from the teeth."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from captures.synthetic import HALL, RELUCTANCE, Recording, Sensor, cranking, missing_teeth, record
from proveout.captures.analysis.speed_trace import speed_trace
from proveout.captures.analysis.tooth_spacing import ToothSpacing
from proveout.captures.analysis.turn_grid import TurnGrid
from proveout.captures.capture import Channel, Clock
from proveout.captures.study import ChannelStudy

__all__ = ["speed_error"]

Array = NDArray[np.float64]
Figure = tuple[str, float, str]
SEED = 20_261_125
SAMPLES_A_TOOTH, TOOTH_ERROR, RIPPLE, TURNS = 20.0, 0.01, 0.3, 60
ENDS = 30
"""Intervals left out at either end, where fewer teeth lie around."""


def speed_error() -> Iterator[Figure]:
    """Record cranking on 60-2 and 36-1 through a coil and through a Hall sensor, and compare with the true motion."""
    coil = _rms(RELUCTANCE, 40.0)
    yield "speed_error_pct", 100 * coil, f"% rms over the separable orders, coil, 40 dB, seed {SEED}"
    yield "speed_error_20db_pct", 100 * _rms(RELUCTANCE, 20.0), "% the same at 20 dB"
    sharp = _rms(HALL, 40.0)
    yield "speed_error_sharp_pct", 100 * sharp, "% the same of sharp edges: a sample's width of doubt in each"


def _rms(sensor: Sensor, noise_db: float) -> float:
    squares = []
    for slots, missing in ((60, 2), (36, 1)):
        motion = cranking(250, TURNS, ripple=RIPPLE)
        made = record(
            missing_teeth(slots, missing),
            motion,
            sensor,
            np.random.default_rng(SEED),
            samples_a_tooth=SAMPLES_A_TOOTH,
            noise_db=noise_db,
            tooth_error=TOOTH_ERROR,
        )
        study = ChannelStudy(Channel("made", "V", made.samples, Clock(rate=made.rate)))
        grid = _without_shared(study.grid, study.spacing, _errors(made, sensor))
        trace = speed_trace(grid, study.spacing)
        away = np.log(trace.speed / motion.speed(trace.times))[ENDS:-ENDS]
        squares.append(np.mean(away**2))
    return float(np.sqrt(np.mean(squares)))


def _errors(made: Recording, sensor: Sensor) -> Array:
    """Return how far each tooth was moved [turns]: its middle for a coil, its beginning for a switching sensor."""
    cut, nominal = made.passing.wheel, made.passing.nominal
    return cut.centre - nominal.centre if sensor.kind == "reluctance" else np.subtract(cut.rise, nominal.rise)


def _without_shared(grid: TurnGrid, spacing: ToothSpacing, errors: Array) -> TurnGrid:
    """Return the times as they were if the teeth erred in the separable orders only.

    What teeth and a motion of the confounded orders make alike is f / s with the slowness s; that part of what was not
    learnt is taken out of the times by the truth, so that all else counts: noise, smoothing, wrong learning.
    """
    slow = grid.slowness()
    mean = np.nanmean(slow, axis=0)
    wave = 2 * np.pi * np.outer(grid.angles, np.arange(spacing.orders + 1))
    shared = np.hstack([np.cos(wave), np.sin(wave[:, 1:])]) / (mean / mean.mean())[:, None]
    left = errors - spacing.errors
    part = shared @ np.linalg.lstsq(shared, left, rcond=None)[0]
    return TurnGrid(grid.wheel, grid.times - slow * part)
