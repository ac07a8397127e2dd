"""What one capture can tell of the spacing of the teeth, and what it cannot."""

from __future__ import annotations

import numpy as np
import pytest

from captures.analysis.matched import matched
from captures.synthetic import Passing, cranking, lobes, missing_teeth, pass_sensor, steady
from proveout.captures.analysis.tooth_spacing import learn_spacing, ripple_orders
from proveout.captures.analysis.turn_grid import turn_grid


def misplaced(passing: Passing) -> np.ndarray:
    errors = np.subtract(passing.wheel.rise, passing.nominal.rise)
    return errors - errors.mean()


def above(errors: np.ndarray, passing: Passing, orders: int) -> np.ndarray:
    """Return what is left of a pattern over the teeth without its orders up to a limit."""
    wave = 2 * np.pi * np.outer(passing.nominal.rise, np.arange(orders + 1))
    low = np.hstack([np.cos(wave), np.sin(wave[:, 1:])])
    return errors - low @ np.linalg.lstsq(low, errors, rcond=None)[0]


@pytest.mark.parametrize("slots", [36, 60])
def test_at_steady_speed_the_orders_above_the_ripple_are_learnt(slots: int) -> None:
    passing = pass_sensor(missing_teeth(slots, 1), steady(800, 40), np.random.default_rng(1), tooth_error=0.01)
    spacing = learn_spacing(turn_grid(matched(passing)))
    wanted = above(misplaced(passing), passing, spacing.orders)
    # The slowness that weighs an error is itself off by the errors: some per cent of a per cent-sized error.
    assert spacing.errors == pytest.approx(wanted, abs=0.04 * np.std(wanted))
    assert spacing.orders == ripple_orders(slots - 1)


def test_under_compression_ripple_the_teeth_are_learnt_to_a_tenth_of_their_error() -> None:
    rng = np.random.default_rng(2)
    passing = pass_sensor(missing_teeth(60, 2), cranking(250, 60, ripple=0.3), rng, tooth_error=0.01, jitter=0.002)
    spacing = learn_spacing(turn_grid(matched(passing)))
    left = above(misplaced(passing) - spacing.errors, passing, spacing.orders + 4)
    assert np.std(left) < 0.1 * np.std(misplaced(passing))
    assert 60 * spacing.scatter == pytest.approx(0.002, rel=0.1)


def test_the_stated_uncertainty_is_that_of_repeated_captures() -> None:
    wheel, motion = missing_teeth(36, 1), steady(800, 24)
    learnt = [
        learn_spacing(turn_grid(matched(pass_sensor(wheel, motion, np.random.default_rng(seed), jitter=0.005))))
        for seed in range(60)
    ]
    seen = np.std([spacing.errors for spacing in learnt], axis=0)
    assert np.mean(learnt[0].uncertainty) == pytest.approx(np.mean(seen), rel=0.25)


def test_a_ripple_of_low_order_is_not_taken_for_teeth() -> None:
    passing = pass_sensor(missing_teeth(60, 2), cranking(250, 40, ripple=0.3), np.random.default_rng(3))
    spacing = learn_spacing(turn_grid(matched(passing)))
    assert 60 * np.std(spacing.errors) < 2e-4
    assert "orders 1 to 12" in spacing.reason


def test_a_cam_wheel_of_few_lobes_tells_nothing_of_its_spacing() -> None:
    wheel = lobes("4", [(0, 30), (90, 120), (180, 210), (280, 310)])
    spacing = learn_spacing(turn_grid(matched(pass_sensor(wheel, steady(600, 20), np.random.default_rng(4)))))
    assert not spacing.learnt
    assert "too few" in spacing.reason
    assert np.all(spacing.errors == 0)


def test_two_turns_are_too_few() -> None:
    passing = pass_sensor(missing_teeth(60, 2), steady(600, 3), np.random.default_rng(5), tooth_error=0.01)
    assert "4 turns" in learn_spacing(turn_grid(matched(passing))).reason
