"""A coast-down tells the teeth from the ripple in every order."""

from __future__ import annotations

import numpy as np
import pytest

from captures.analysis.matched import matched
from captures.synthetic import Motion, coast_down, missing_teeth, pass_sensor, steady, sweep
from proveout.captures.analysis.coast_down import coast_down_within, spacing_from_coast_down
from proveout.captures.analysis.turn_grid import turn_grid
from proveout.errors import InputError


@pytest.mark.parametrize(("ripple", "share"), [(0.05, 0.03), (0.15, 0.06), (0.3, 0.15)])
def test_all_orders_are_learnt_while_the_speed_falls_to_a_third(ripple: float, share: float) -> None:
    motion = coast_down(900, 40, last=0.3, ripple=ripple)
    passing = pass_sensor(missing_teeth(60, 2), motion, np.random.default_rng(2), tooth_error=0.01)
    spacing = spacing_from_coast_down(turn_grid(matched(passing)))
    true = np.subtract(passing.wheel.rise, passing.nominal.rise)
    true -= true.mean()
    assert np.std(spacing.errors - true) < share * np.std(true)
    assert spacing.orders == 0
    assert "torque" in spacing.reason


def test_the_first_order_that_hides_in_one_speed_is_found() -> None:
    """A wheel off its centre by 1 % of a pitch."""
    wheel = missing_teeth(60, 2)
    off = 0.01 / 60 * np.sin(2 * np.pi * np.asarray(wheel.rise))
    cut = type(wheel)(wheel.name, tuple(wheel.rise + off), tuple(wheel.fall + off), wheel.pitch)
    rng = np.random.default_rng(3)
    passing = pass_sensor(cut, coast_down(900, 40, last=0.3, ripple=0.1), rng, jitter=0.001)
    fit = matched(pass_sensor(wheel, coast_down(900, 40, last=0.3, ripple=0.1), rng))
    grid = turn_grid(type(fit)(fit.wheel, 1.0, passing.only(True).times, fit.place, fit.turn, fit.lost))
    found = spacing_from_coast_down(grid)
    assert found.errors == pytest.approx(off - off.mean(), abs=0.2 * np.max(off))


def test_a_steady_capture_is_refused() -> None:
    passing = pass_sensor(missing_teeth(60, 2), steady(800, 40), np.random.default_rng(4))
    with pytest.raises(InputError, match=r"factor of 1\.00"):
        spacing_from_coast_down(turn_grid(matched(passing)))


def test_a_short_one_is_refused() -> None:
    passing = pass_sensor(missing_teeth(60, 2), coast_down(800, 8), np.random.default_rng(5))
    with pytest.raises(InputError, match="too few"):
        spacing_from_coast_down(turn_grid(matched(passing)))


def within(motion: Motion) -> int:
    grid = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, np.random.default_rng(6), tooth_error=0.01)))
    found = coast_down_within(grid)
    return 0 if found is None else len(found.times)


def test_the_turns_of_a_coast_down_are_found_after_running() -> None:
    assert within(steady(1500, 20).then(coast_down(1500, 40, last=0.2, ripple=0.05))) == pytest.approx(40, abs=4)


def test_a_return_to_idle_or_a_run_up_is_no_coast_down() -> None:
    assert within(sweep(3000, 800, 40)) == 0
    assert within(sweep(200, 3000, 40)) == 0
    assert within(steady(250, 30)) == 0
