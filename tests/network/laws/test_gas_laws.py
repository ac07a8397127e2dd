"""Gas through restrictions: slopes by differences, monotone in both pressures, and the closed forms of ISO 6358-1."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.network.gas import choked, sonic_conductance
from proveout.network.laws import LAWS, Array, CheckValve, Law, Orifice

AIR = 101325.0
DIRECTED = [law for law in LAWS.values() if law.directed]
ALL = pytest.mark.parametrize("law", DIRECTED, ids=[law.name for law in DIRECTED])
PARAMETERS = {
    "orifice": (1e-8, 0.4, AIR, 0.1),
    "check_valve": (1e-8, 0.3, AIR, 1500.0, 1000.0),
    "wax": (2.0, 0.1, 2.0e4, 5.0e4),
    "wax_lift": (2.0, 2.0e4, 5.0e4),
}
GAUGE = st.floats(-1.0e5, 5.0e5)


def parameters(law: type[Law], count: int) -> Array:
    return np.repeat(np.array(PARAMETERS[law.name])[:, None], count, axis=1)


def efforts(count: int = 400) -> Array:
    """Return pairs of gauge pressures, half of them close together."""
    rng = np.random.default_rng(11)
    u = rng.uniform(-0.9e5, 2.0e5, (2, count))
    u[1, ::2] = u[0, ::2] + rng.normal(0.0, 2000.0, len(u[1, ::2]))
    return u


@ALL
def test_the_tangent_holds_the_flow_and_both_slopes(law: type[Law]) -> None:
    u = efforts()
    p = parameters(law, u.shape[1])
    flow, slope = law.tangent(u, p)
    np.testing.assert_allclose(flow, law.flow(u, p), rtol=1e-12)
    for end, sign in ((0, 1.0), (1, -1.0)):
        up, down = u.copy(), u.copy()
        up[end] += 0.05
        down[end] -= 0.05
        numerical = sign * (law.flow(up, p) - law.flow(down, p)) / 0.1
        close = np.isclose(slope[end], numerical, rtol=2e-3, atol=1e-12)
        assert close.mean() > 0.99  # a bend may lie within the step of the difference


@ALL
@given(low=GAUGE, high=GAUGE, other=GAUGE)
def test_flow_never_falls_with_the_first_pressure_nor_rises_with_the_second(
    law: type[Law], low: float, high: float, other: float
) -> None:
    low, high = sorted((low, high))
    p = parameters(law, 2)
    ahead = law.flow(np.array([[low, high], [other, other]]), p)
    back = law.flow(np.array([[other, other], [low, high]]), p)
    assert ahead[1] >= ahead[0] - 1e-18
    assert back[1] <= back[0] + 1e-18


@ALL
def test_slopes_by_parameter_agree_with_differences(law: type[Law]) -> None:
    u = efforts(60)
    p = parameters(law, u.shape[1])
    found = law.by_parameter(u, p)
    assert found.shape == p.shape
    for i, value in enumerate(PARAMETERS[law.name]):
        up, down = p.copy(), p.copy()
        step = 1e-4 * value
        up[i] += step
        down[i] -= step
        numerical = (law.flow(u, up) - law.flow(u, down)) / (2.0 * step)
        np.testing.assert_allclose(found[i], numerical, rtol=1e-2, atol=1e-3 * np.abs(numerical).max())


def mass_flow(up: float, down: float, critical: float) -> float:
    """Return the flow of an orifice of 10 mm2 between two absolute pressures."""
    p = np.array([[float(choked(10.0, 20.0))], [critical], [AIR], [0.0]])
    return float(Orifice.flow(np.array([[up - AIR], [down - AIR]]), p)[0])


@pytest.mark.parametrize("critical", [0.2, 0.35, 0.5])
@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.6, 0.8, 0.9])
def test_the_flow_is_that_of_iso_6358(critical: float, ratio: float) -> None:
    """ISO 6358-1, from memory: q = C p1 rho0 sqrt(T0 / T1), below b; times the ellipse above it; rho0 1.185 kg/m3."""
    c, up = float(sonic_conductance(10.0)), 2.0e5
    share = 1.0 if ratio <= critical else np.sqrt(1.0 - ((ratio - critical) / (1.0 - critical)) ** 2)
    assert mass_flow(up, ratio * up, critical) == pytest.approx(c * 1.185 * up * share, rel=2e-3)


def test_the_choked_flow_is_that_of_an_isentropic_nozzle() -> None:
    """0.040418 p A / sqrt(T) for air (kg/s, Pa, m2, K): the mass-flow function of gas-dynamics texts, from memory."""
    assert mass_flow(3.0e5, 1.0e5, 0.4) == pytest.approx(0.040418 * 3.0e5 * 10e-6 / np.sqrt(293.15), rel=1e-3)


def test_the_ellipse_with_the_critical_ratio_of_a_nozzle_is_close_to_the_nozzle() -> None:
    """Saint-Venant and Wantzel's nozzle, b = 0.5283 for air: the ellipse is within 1 % of it (from memory)."""
    for ratio in (0.6, 0.7, 0.8, 0.9):
        k = 1.4
        nozzle = np.sqrt(2 / (k - 1) * (ratio ** (2 / k) - ratio ** ((k + 1) / k)))
        most = (2 / (k + 1)) ** ((k + 1) / (2 * (k - 1)))
        expected = float(choked(10.0, 20.0)) * 2e5 * nozzle / most
        assert mass_flow(2e5, ratio * 2e5, 0.5283) == pytest.approx(expected, rel=0.01)


def test_a_check_valve_holds_until_it_is_lifted_and_never_lets_back() -> None:
    p = parameters(CheckValve, 4)
    first = np.array([0.0, 1400.0, 3000.0, -5.0e4])
    flow = CheckValve.flow(np.stack([first, np.zeros(4)]), p)
    assert flow[0] == flow[1] == flow[3] == 0.0
    assert flow[2] > 0.0


@pytest.mark.parametrize("law", LAWS.values(), ids=lambda law: str(law.name))
def test_a_law_has_a_content_unless_it_is_directed(law: type[Law]) -> None:
    assert hasattr(law, "content") != law.directed
