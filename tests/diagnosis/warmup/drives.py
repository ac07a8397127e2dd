"""Drives for the tests of the warm-up fit: made ones with their truth, and real ones."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from proveout.captures.readers import read
from proveout.diagnosis.warmup import Drive
from proveout.scan import Log, log_of
from reference.warm_vehicle import draw_drive, draw_vehicle, simulate
from reference.warm_vehicle import log_of as logged

__all__ = ["RECORDINGS", "made_drive", "real_log", "steady_drive"]

# M. Weber, KIT, 'Automotive OBD-II Dataset', doi:10.35097/1130, licence CC BY 4.0 (see the README beside the files).
RECORDINGS = Path(__file__).parents[2] / "recordings"


def real_log(name: str) -> Log:
    return log_of(read(RECORDINGS / f"warmup-{name}.csv.gz"))


def made_drive(seed: int, seconds: int, starts: float, leakage: float, ambient: float) -> tuple[Drive, float]:
    """Return a noisy drive of a drawn vehicle, and for how many seconds its valve stood open."""
    rng = np.random.default_rng(seed)
    drive, vehicle = draw_drive(rng, seconds, ambient), draw_vehicle(rng, starts, leakage)
    opening = simulate(vehicle, drive, ambient)[6]
    log = logged(vehicle, drive, ambient, rng)
    made = Drive(log["coolant"], log["air"], log["speed"], log["pedal"], log["road"], log["ambient"])
    return made, float((opening > 0.02).sum())


def steady_drive(seconds: int, air: float, speed: float, road: float, ambient: float, start: float) -> Drive:
    def same(value: float) -> NDArray[np.float64]:
        return np.full(seconds, value)

    return Drive(same(start), same(air), same(speed), same(0.0), same(road), same(ambient))
