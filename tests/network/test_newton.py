"""The two ways of iterating: branch by branch, and down the content."""

from __future__ import annotations

import numpy as np
import pytest

from network.small_networks import PIN, varied
from proveout.network import solve_steady
from proveout.network.eliminate import Cells, Elimination
from proveout.network.laws import LAWS, Array
from proveout.network.netlist import Group
from proveout.network.newton import newton
from proveout.network.nonlinear import Nonlinear


def test_the_descent_on_the_content_finds_the_same_solutions(monkeypatch: pytest.MonkeyPatch) -> None:
    netlist, batch = varied(PIN, 200, seed=100, spread_by=5.0)
    usual = solve_steady(netlist, batch)
    monkeypatch.setattr("proveout.network.newton.MOST_STEPS", 1)
    descended = solve_steady(netlist, batch)
    np.testing.assert_array_equal(descended.on, usual.on)
    np.testing.assert_allclose(descended.effort, usual.effort, rtol=1e-7, atol=1e-7)


def test_nearly_all_variants_settle_without_the_descent(monkeypatch: pytest.MonkeyPatch) -> None:
    """The descent may be needed, but where it is the rule the solver is slow."""
    netlist, batch = varied(PIN, 2000, seed=100, spread_by=5.0)
    left: list[int] = []

    def counted(network: Nonlinear, start: Array, tolerance: float) -> Array:
        left.append(start.shape[1])
        return np.zeros_like(start)

    monkeypatch.setattr("proveout.network.newton.descend", counted)
    solve_steady(netlist, batch)
    assert sum(left) < 20


def one_branch(law: str, parameters: list[float], conductance: float, source: float) -> Nonlinear:
    """Return one nonlinear branch from a node to ground, beside a conductance and a source."""
    plan = Elimination(["x"], [])
    cells = Cells([], [np.array([conductance])], [np.array([source])])
    group = Group(LAWS[law], np.array([0]), np.array([1]), np.arange(len(parameters))[:, None], ("it",))
    return Nonlinear(plan, cells, [group], [np.array(parameters)[:, None, None]])


@pytest.mark.parametrize("source", [1e-12, 1e-6, 1e-3, 1.0, 100.0])
def test_a_junction_finds_its_voltage_for_currents_over_fourteen_decades(source: float) -> None:
    """Closed form with hardly any conductance beside it: u = w ln(1 + i / s)."""
    network = one_branch("diode", [1e-12, 0.03, 1000.0], 1e-18, source)
    for start in (0.0, 0.6, 100.0, -100.0):
        found = newton(network, np.array([[start], [0.0]]), 1e-12)[0, 0]
        assert found == pytest.approx(0.03 * np.log1p(source / 1e-12), rel=1e-5)


def test_a_lamp_that_loses_its_supply_goes_dark_in_a_few_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Newton's method alone would swing around zero, four fifths as far each time."""
    monkeypatch.setattr("proveout.network.newton.MOST_STEPS", 5)
    monkeypatch.setattr("proveout.network.descent.MOST_STEPS", 1)
    network = one_branch("lamp", [0.35, 0.07], 1e-9, 0.0)
    assert newton(network, np.array([[12.0], [0.0]]), 1e-9)[0, 0] == pytest.approx(0.0, abs=1e-9)
