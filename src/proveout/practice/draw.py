"""Draws the vehicle of a task: a fault as hard as was asked for, at some severity, in one vehicle out of many."""

from __future__ import annotations

import math

import numpy as np

from proveout.diagnosis import Model
from proveout.errors import InputError
from proveout.practice.code import Task
from proveout.practice.difficulty import DIFFICULTIES, Ranking, rank
from proveout.practice.hidden import HiddenVehicle
from proveout.practice.individual import draw_individual

__all__ = ["draw_vehicle"]

MOST_DRAWS = 100


def draw_vehicle(model: Model, task: Task, ranking: Ranking | None = None) -> HiddenVehicle:
    """Return the vehicle of a task; the same for everyone who has the same task, meter and version.

    Drawn again, from the same seed, until its owner has something to complain about, and would have nothing without the
    fault.

    Raises
    ------
    InputError
        No fault of the circuit is of this difficulty.
    """
    chance = (ranking or rank(model)).chance[task.difficulty]
    if not chance.any():
        raise InputError(f"no fault of '{task.circuit}' is {task.difficulty} to find; choose another difficulty")
    seed = (task.seed, DIFFICULTIES.index(task.difficulty), task.mark)
    rng = np.random.default_rng(seed)
    for _ in range(MOST_DRAWS):
        drawn = int(rng.choice(len(chance), p=chance))
        own = draw_individual(model.circuit, model.meter.lead_uncertainty, rng)
        vehicle = HiddenVehicle(model, drawn, _severity(model, drawn, rng), own, seed)
        if vehicle.complaints() and vehicle.sound_once_mended():
            return vehicle
    raise InputError(
        f"{MOST_DRAWS} vehicles drawn from seed {task.seed} had nothing to complain about; try another seed"
    )


def _severity(model: Model, hypothesis: int, rng: np.random.Generator) -> float:
    """Return a severity anywhere within the grid cell of a hypothesis, evenly in logarithm."""
    h = model.hypotheses
    variant = model.predictions.variants[int(h.variant[hypothesis])]
    grid, mode = variant.severities[0], variant.faults[0].mode
    value, within = float(grid[int(h.row[hypothesis]) - variant.first]), rng.uniform(-0.5, 0.5)
    if mode.forced is not None or mode.low == mode.high:
        return value
    return value * math.exp(within * math.log(mode.high / mode.low) / len(grid))
