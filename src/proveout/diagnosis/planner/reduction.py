"""A smaller problem for the look ahead: fewer tests, and outcomes that mean nearly the same taken as one.

A policy that ignores the difference between two outcomes, or never takes a test, can be carried out in the full
problem, so what the smaller problem costs is still an upper bound.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.information import outcomes_by_repair
from proveout.diagnosis.planner.model import PlanningModel
from proveout.diagnosis.planner.tree import Workbench, workbench

__all__ = ["keep_tests", "look_ahead", "merge_outcomes", "most_promising"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]

_SMOOTHING = np.float32(1e-4)


def most_promising(model: PlanningModel, index: Floats, information: Floats, most: int) -> Ints:
    """At most `most` tests, taken in turn from the highest index and the highest information.

    Parameters
    ----------
    index, information : (T + R,) float
        As `step_index` gives them.
    """
    tests = len(model.tests)
    if tests <= most:
        return np.arange(tests)
    in_turn = np.stack([np.argsort(-index[:tests]), np.argsort(-information[:tests])], axis=1).ravel()
    _, first = np.unique(in_turn, return_index=True)
    return np.sort(in_turn[np.sort(first)[:most]])


def look_ahead(bench: Workbench, tests: Ints, most_outcomes: int) -> Workbench:
    """Return the workbench for the look ahead on the given tests; the same one where nothing has to be reduced."""
    model = bench.model
    if len(tests) == len(model.tests) and model.joint.shape[2] <= most_outcomes:
        return bench
    now = model.prior.astype(np.float32)[None]
    rows = np.stack([outcomes_by_repair(bench.information, now, r)[0] for r in range(len(model.repairs))])
    by_repair = rows.reshape(len(rows), len(model.tests), -1)[:, tests].transpose(1, 2, 0)
    return workbench(merge_outcomes(keep_tests(model, tests), np.ascontiguousarray(by_repair), most_outcomes))


def keep_tests(model: PlanningModel, tests: Ints) -> PlanningModel:
    """Return the model with only the given tests (numbers within the model)."""
    return replace(
        model,
        joint=model.joint[tests],
        test_cost=model.test_cost[tests],
        test_access=model.test_access[tests],
        test_setup=model.test_setup[tests],
        cures=None if model.cures is None else model.cures[tests],
        cure_cost=model.cure_cost[tests],
        tests=model.tests[tests],
    )


def merge_outcomes(model: PlanningModel, by_repair: Singles, most: int) -> PlanningModel:
    """Return the model with at most `most` outcomes a test, merging those that leave nearly the same repairs.

    Around the most telling outcomes (chosen one by one, each the largest in probability times divergence from those
    chosen) every other joins the one from which its distribution over repairs diverges least (Kullback and Leibler).

    Parameters
    ----------
    by_repair : (T, O, R) float
        P(outcome, repair) of each test now.
    """
    if model.joint.shape[2] <= most:
        return model
    label = _labels(by_repair, most)
    group = (label[:, :, None] == np.arange(most)).astype(float)
    return replace(model, joint=np.matmul(model.joint, group))


def _labels(by_repair: Singles, most: int) -> Ints:
    """(T, O) int, the group of each outcome from P(outcome, repair) (T, O, R)."""
    mass = by_repair.sum(axis=2)
    left = by_repair + _SMOOTHING * mass[:, :, None] / by_repair.shape[2] + np.float32(1e-30)
    left /= left.sum(axis=2, keepdims=True)
    logs = np.log(left)
    own = (left * logs).sum(axis=2)
    rows = np.arange(len(left))
    chosen = mass.argmax(axis=1)
    nearest = own - np.matmul(left, logs[rows, chosen][:, :, None])[:, :, 0]
    label = np.zeros(mass.shape, dtype=np.int64)
    for group in range(1, most):
        chosen = (mass * nearest).argmax(axis=1)
        divergence = own - np.matmul(left, logs[rows, chosen][:, :, None])[:, :, 0]
        label[divergence < nearest] = group
        nearest = np.minimum(nearest, divergence)
    return label
