"""The decision problem: what could be wrong, what each test would show, and what every step costs from here."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.errors import InputError

__all__ = ["Action", "DecisionProblem", "after_outcome", "after_repair", "marginal_cost", "outcome_chances"]

ANY_SETUP = -1
_SUM_TOLERANCE = 1e-6


@dataclass(frozen=True, order=True)
class Action:
    """One step: take test `index`, or carry out repair `index` with its proof."""

    kind: Literal["test", "repair"]
    index: int


@dataclass(frozen=True, eq=False)
class DecisionProblem:
    """A case as the planner sees it: belief, tests, repairs and what has been opened already.

    Sizes: F particles (a fault at one severity, or a merged group), T tests, O outcomes, R repairs (suspects),
    A access operations, U set-ups. All costs share one unit, usually money with the minutes priced in.

    Parameters
    ----------
    prior : (F,) float
        Belief over particles; sums to 1.
    repair_of : (F,) int
        The repair that cures each particle.
    likelihood : (T, F, O) float
        P(outcome | particle) of each test, given that the test has not cured it; sums to 1 over outcomes.
        Unused outcomes have zero columns. Outcomes of different tests are independent given the particle.
    test_cost : (T,) float
        Own cost, without access and set-up.
    test_access : (T, A) bool
        Access operations needed, with everything that those require first.
    test_setup : (T,) int
        Set-up in which the test is done; -1 when it can be done in any, which leaves the set-up as it is.
    setup_cost : (U,) float
        Cost of bringing the vehicle into set-up u from another one.
    setup : int
        Current set-up; -1 when unknown.
    access_cost : (A,) float
        Paid once, shared by all later steps.
    opened : (A,) bool
        What is open already.
    repair_cost : (R,) float
        Parts, labour and the proof afterwards.
    repair_access : (R, A) bool
        Access that each repair needs.
    cures : (T, F) float, optional
        Probability that doing test t cures particle f (reseating a connector). A cure is seen and ends the case.
    cure_cost : (T,) float, optional
        What a cure by test t still costs: its proof, a part that stays in.
    taken : (T,) bool, optional
        Tests that were taken; none is taken twice.

    Raises
    ------
    InputError
        A shape, an index or a probability that does not fit.
    """

    prior: NDArray[np.float64]
    repair_of: NDArray[np.int64]
    likelihood: NDArray[np.float64]
    test_cost: NDArray[np.float64]
    test_access: NDArray[np.bool_]
    test_setup: NDArray[np.int64]
    setup_cost: NDArray[np.float64]
    setup: int
    access_cost: NDArray[np.float64]
    opened: NDArray[np.bool_]
    repair_cost: NDArray[np.float64]
    repair_access: NDArray[np.bool_]
    cures: NDArray[np.float64] | None = None
    cure_cost: NDArray[np.float64] | None = None
    taken: NDArray[np.bool_] | None = None

    def __post_init__(self) -> None:
        self._check_shapes()
        self._check_values()

    @property
    def sizes(self) -> tuple[int, int, int, int, int, int]:
        """F, T, O, R, A, U."""
        tests, particles, outcomes = self.likelihood.shape
        return particles, tests, outcomes, len(self.repair_cost), len(self.access_cost), len(self.setup_cost)

    @property
    def untaken(self) -> NDArray[np.bool_]:
        """(T,) bool, tests that can still be taken."""
        return np.ones(len(self.test_cost), dtype=bool) if self.taken is None else ~self.taken

    def _check_shapes(self) -> None:
        if self.likelihood.ndim != 3:
            raise InputError(
                f"likelihood has shape {self.likelihood.shape}; it must be (tests, particles, outcomes). "
                "Give one table per test."
            )
        F, T, _, R, A, _ = self.sizes
        wanted: dict[str, tuple[int, ...]] = {
            "prior": (F,),
            "repair_of": (F,),
            "test_cost": (T,),
            "test_access": (T, A),
            "test_setup": (T,),
            "opened": (A,),
            "repair_access": (R, A),
            "cures": (T, F),
            "cure_cost": (T,),
            "taken": (T,),
        }
        for name, shape in wanted.items():
            value = getattr(self, name)
            if value is not None and value.shape != shape:
                raise InputError(f"{name} has shape {value.shape}; it must be {shape}. Fit it to the other tables.")

    def _check_values(self) -> None:
        _, _, _, R, _, U = self.sizes
        if not np.isclose(self.prior.sum(), 1.0, atol=_SUM_TOLERANCE) or self.prior.min() < 0.0:
            raise InputError(f"prior sums to {self.prior.sum():.6g}; it must be 0 or more and sum to 1. Normalise it.")
        if self.repair_of.min() < 0 or self.repair_of.max() >= R:
            raise InputError(f"repair_of must lie in 0 to {R - 1}. Give every particle a repair that cures it.")
        if self.test_setup.size and not (self.test_setup.min() >= ANY_SETUP and self.test_setup.max() < U):
            raise InputError(f"test_setup must lie in -1 to {U - 1}. Name a set-up that exists.")
        if not ANY_SETUP <= self.setup < U:
            raise InputError(f"setup is {self.setup}; it must lie in -1 to {U - 1}. Name a set-up that exists.")
        self._check_likelihood()
        for name in ("test_cost", "setup_cost", "access_cost", "repair_cost", "cure_cost"):
            value = getattr(self, name)
            if value is not None and value.size and not (np.isfinite(value).all() and value.min() >= 0.0):
                raise InputError(f"{name} holds a negative or unlimited value; costs are 0 or more. Correct it.")

    def _check_likelihood(self) -> None:
        totals = self.likelihood.sum(axis=2)
        wrong = np.argwhere(np.abs(totals - 1.0) > _SUM_TOLERANCE)
        if len(wrong):
            t, f = (int(i) for i in wrong[0])
            raise InputError(
                f"likelihood of test {t}, particle {f} sums to {totals[t, f]:.6g}; it must sum to 1. Normalise it."
            )
        if self.likelihood.size and self.likelihood.min() < 0.0:
            raise InputError("likelihood holds a negative probability; each must be 0 or more. Correct it.")
        if self.cures is not None and self.cures.size and not 0.0 <= self.cures.min() <= self.cures.max() <= 1.0:
            raise InputError("cures holds a value outside 0 to 1; it is a probability. Correct it.")


def marginal_cost(problem: DecisionProblem, action: Action) -> float:
    """Cost of a step from here: its own, what it newly opens, and the change of set-up.

    A cure by a test costs `cure_cost` on top, when it happens.
    """
    if action.kind == "repair":
        access, own = problem.repair_access[action.index], float(problem.repair_cost[action.index])
        return own + float(problem.access_cost[access & ~problem.opened].sum())
    setup = int(problem.test_setup[action.index])
    change = float(problem.setup_cost[setup]) if setup not in (ANY_SETUP, problem.setup) else 0.0
    newly = problem.test_access[action.index] & ~problem.opened
    return float(problem.test_cost[action.index]) + float(problem.access_cost[newly].sum()) + change


def outcome_chances(problem: DecisionProblem, test: int) -> tuple[NDArray[np.float64], float]:
    """(O,) float, chance of each outcome with the fault still there, and the chance that the test cures it."""
    lasting = _lasting(problem, test)
    return lasting @ problem.likelihood[test], float(max(0.0, 1.0 - lasting.sum()))


def after_outcome(problem: DecisionProblem, test: int, outcome: int) -> DecisionProblem:
    """Return the problem that is left when `test` showed `outcome` and did not cure the fault.

    Raises
    ------
    InputError
        The outcome is impossible under every particle.
    """
    joint = _lasting(problem, test) * problem.likelihood[test, :, outcome]
    if joint.sum() <= 0.0:
        raise InputError(
            f"outcome {outcome} of test {test} has probability 0 under every fault; check the reading or the drawing."
        )
    taken = ~problem.untaken
    taken[test] = True
    setup = int(problem.test_setup[test])
    return replace(
        problem,
        prior=joint / joint.sum(),
        taken=taken,
        opened=problem.opened | problem.test_access[test],
        setup=problem.setup if setup == ANY_SETUP else setup,
    )


def after_repair(problem: DecisionProblem, repair: int) -> DecisionProblem:
    """Return the problem that is left when `repair` was carried out and did not cure the vehicle.

    Raises
    ------
    InputError
        No other repair has any probability.
    """
    left = np.where(problem.repair_of == repair, 0.0, problem.prior)
    if left.sum() <= 0.0:
        raise InputError(f"repair {repair} was the only suspect and did not cure the vehicle; check the drawing.")
    return replace(problem, prior=left / left.sum(), opened=problem.opened | problem.repair_access[repair])


def _lasting(problem: DecisionProblem, test: int) -> NDArray[np.float64]:
    return problem.prior if problem.cures is None else problem.prior * (1.0 - problem.cures[test])
