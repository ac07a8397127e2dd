"""Every branch law against numerical differentiation and integration."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from proveout.network.laws import LAWS, Array, ChargeStore, ContentLaw, Diode, Law, Limited, OneWay

RANGES: dict[str, tuple[tuple[float, float], ...]] = {
    "linear": ((1e-3, 1e3), (0.1, 10.0)),
    "limited": ((3.0, 8.0), (0.5, 5.0), (0.05, 0.5), (0.002, 0.05)),
    "diode": ((1e-12, 1e-8), (0.025, 0.06), (20.0, 45.0)),
    "sink": ((0.003, 0.03), (0.3, 2.0)),
    "lamp": ((0.1, 10.0), (0.05, 1.0)),
    "one_way": ((0.1, 10.0), (1.0, 5.0)),
    "turbulent": ((0.1, 10.0), (0.5, 3.0)),
    "store": ((0.1, 10.0), (0.5, 5.0), (0.2, 3.0)),
    "gas_store": ((0.1, 1.0), (0.1, 1.0), (0.1, 2.0), (50.0, 100.0), (0.6, 0.95)),
    "charge_store": ((0.1, 1.0), (0.1, 1.0), (0.01, 0.3), (50.0, 70.0), (0.7, 0.95), (0.5, 5.0), (55.0, 75.0)),
}
"""Parameter ranges as the element kinds use them."""

BY_DIFFERENCE = [law for law in LAWS.values() if not law.directed]
ALL = pytest.mark.parametrize("law", BY_DIFFERENCE, ids=[law.name for law in BY_DIFFERENCE])


def cases(law: type[Law], count: int = 60) -> tuple[Array, Array]:
    """Return effort differences (count,) and parameters (parameter, count); diodes stay near their two bends."""
    rng = np.random.default_rng(7)
    p = np.array([np.exp(rng.uniform(np.log(low), np.log(high), count)) for low, high in RANGES[law.name]])
    u = rng.uniform(-15.0, 15.0, count)
    if law is Diode:
        u = np.where(rng.random(count) < 0.6, rng.uniform(-1.0, 1.2, count), -p[2] - rng.uniform(-0.5, 0.8, count))
    return u, p


def derivative(upper: Array, lower: Array, step: Array | float) -> Array:
    return (upper - lower) / (2 * step)


@ALL
def test_the_tangent_holds_the_flow_and_its_slope(law: type[Law]) -> None:
    u, p = cases(law)
    h = 1e-6
    flow, slope = law.tangent(u, p)
    np.testing.assert_allclose(flow, law.flow(u, p), rtol=1e-12, atol=1e-20)
    numerical = derivative(law.flow(u + h, p), law.flow(u - h, p), h)
    scale = 1e-9 * np.abs(flow) / h * 1e-6
    assert np.all(np.abs(slope - numerical) <= 1e-6 * np.abs(slope) + scale + 1e-9 * p[0])


def bends(law: type[Law], p: Array) -> list[float]:
    """Return the effort differences around which the law bends, for the quadrature not to miss them."""
    if law is Diode:
        return [float(-p[2])]
    if law is Limited:
        return [float(p[0] + side * limit / p[1]) for limit in p[2:] for side in (-4.0, 0.5, 4.0)]
    if law is OneWay:
        return [float(p[1])]
    if law is ChargeStore:
        return [float(p[6] - p[3])]
    return []


@ALL
def test_the_content_is_the_integral_of_the_flow(law: type[ContentLaw]) -> None:
    u, p = cases(law, 25)
    for k in range(len(u)):
        inside = sorted(x for x in bends(law, p[:, k]) if min(0.0, u[k]) < x < max(0.0, u[k]))
        one = p[:, k : k + 1]
        area, error = quad(
            lambda x, one=one: float(law.flow(np.array([x]), one)[0]), 0.0, u[k], points=inside or None, limit=400
        )
        assert float(law.content(u[k : k + 1], one)[0]) == pytest.approx(area, rel=1e-7, abs=10 * error + 1e-18)


@ALL
def test_slopes_by_parameter_agree_with_differences(law: type[Law]) -> None:
    u, p = cases(law)
    found = law.by_parameter(u, p)
    assert found.shape == p.shape
    for i in range(len(p)):
        h = 1e-6 * p[i]
        up, down = p.copy(), p.copy()
        up[i] += h
        down[i] -= h
        expected = derivative(law.flow(u, up), law.flow(u, down), h)
        rounding = 1e-15 * np.abs(law.flow(u, p)) / h
        assert np.all(np.abs(found[i] - expected) <= 1e-6 * np.abs(expected) + 4 * rounding + 1e-15), law.parameters[i]


@ALL
@given(data=st.data())
def test_more_effort_never_brings_less_flow(law: type[Law], data: st.DataObject) -> None:
    p = np.array([[data.draw(st.floats(low, high))] for low, high in RANGES[law.name]])
    low, high = sorted(data.draw(st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0))))
    efforts = np.array([low, high])
    flow, slope = law.tangent(efforts, p)
    assert np.all(slope >= 0)
    assert flow[1] >= flow[0]
    assert np.all(np.isfinite(flow))


@ALL
def test_a_branch_taken_out_carries_nothing(law: type[ContentLaw]) -> None:
    p = np.array(law.absent)[:, None]
    u = np.linspace(-1e3, 1e3, 41)
    flow, slope = law.tangent(u, np.repeat(p, len(u), axis=1))
    assert not flow.any()
    assert not slope.any()
    assert not law.content(u, np.repeat(p, len(u), axis=1)).any()


@ALL
def test_a_settled_branch_stays_where_it_is(law: type[Law]) -> None:
    u, p = cases(law)
    np.testing.assert_allclose(law.approach(u, u, p), u, rtol=1e-14, atol=1e-15)


def test_a_junction_far_from_conducting_goes_where_the_tangent_s_flow_is() -> None:
    p = np.array([[1e-12], [0.03], [40.0]])
    old, new = np.array([0.6]), np.array([5.0])
    flow, slope = Diode.tangent(old, p)
    found = Diode.approach(old, new, p)
    assert Diode.flow(found, p)[0] == pytest.approx(float(flow[0] + slope[0] * (new[0] - old[0])), rel=1e-3)


def test_a_supply_flung_from_one_limit_to_the_other_passes_through_its_set_voltage() -> None:
    p = np.array([[5.0], [2.0], [0.1], [0.005]])
    assert Limited.approach(np.array([1.0]), np.array([12.0]), p)[0] == 5.0


def test_no_trial_step_overflows() -> None:
    p = np.array([[1e-9], [0.025], [20.0]])
    for u in (np.array([1e6]), np.array([-1e6])):
        assert np.isfinite(Diode.content(u, p)).all()
        assert np.isfinite(Diode.tangent(u, p)).all()
