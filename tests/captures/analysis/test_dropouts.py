"""Lost and extra edges against teeth taken out of, and pulses put into, made signals."""

import numpy as np
import pytest

from captures.synthetic import (
    CutWheel,
    Motion,
    Passing,
    cranking,
    even_teeth,
    missing_teeth,
    pass_sensor,
    steady,
    sweep,
)
from proveout.captures.analysis.dropouts import Dropout, dropouts, follow_tempo
from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.pattern.find import find_wheel
from proveout.errors import InputError


def when_lost(passing: Passing, rising: bool) -> list[float]:
    """Times at which the lost teeth would have given their edge."""
    wheel = passing.wheel
    found = passing.motion.crossings(wheel.rise if rising else wheel.fall)
    return [
        float(found.times[(found.turn == turn) & (found.which == tooth)][0]) for turn, tooth in passing.lost.tolist()
    ]


def scored(found: tuple[Dropout, ...], truth: list[float]) -> tuple[int, int]:
    """Return how many lost teeth were found, and how many findings are false."""
    lost = [item for item in found if item.kind == "lost"]
    hit = sum(any(item.start < time < item.end for item in lost) for time in truth)
    false = sum(not any(item.start < time < item.end for time in truth) for item in lost)
    return hit, false + sum(item.kind == "extra" for item in found)


@pytest.mark.parametrize("teeth", [24, 48, 100])
@pytest.mark.parametrize("motion", [steady(300, 40), cranking(200, 40, ripple=0.3), sweep(60, 900, 60)])
def test_every_single_tooth_lost_from_an_even_ring_is_found_by_its_tempo(teeth: int, motion: Motion) -> None:
    hits = lost = false = 0
    for seed in range(8):
        rng = np.random.default_rng([teeth, seed])
        passing = pass_sensor(even_teeth(teeth), motion, rng, tooth_error=0.02, jitter=0.01, lost=4)
        truth = when_lost(passing, True)
        hit, wrong = scored(dropouts(follow_tempo(passing.only(True).times)), truth)
        hits, lost, false = hits + hit, lost + len(truth), false + wrong
    assert (hits, false) == (lost, 0)


@pytest.mark.parametrize("wheel", [missing_teeth(60, 2), missing_teeth(36, 1)])
def test_a_tooth_lost_from_a_wheel_with_a_gap_is_placed_by_angle_speed_and_time(wheel: CutWheel) -> None:
    rng = np.random.default_rng(5)
    passing = pass_sensor(wheel, steady(800, 40), rng, tooth_error=0.01, jitter=0.005, lost=1)
    fit = find_wheel(Edges(passing.times, passing.up))
    (found,) = dropouts(fit)
    (truth,) = when_lost(passing, fit.rising)
    assert found.start < truth < found.end
    assert found.count == 1
    assert found.speed == pytest.approx(800 / 60, rel=0.05)
    assert found.angle == pytest.approx(float(wheel.rise[passing.lost[0, 1]]), abs=1e-9)


def test_an_extra_edge_is_told_from_a_tooth() -> None:
    rng = np.random.default_rng(9)
    passing = pass_sensor(even_teeth(48), steady(300, 20), rng, tooth_error=0.01, jitter=0.005, extra=3)
    times = passing.only(True).times
    truth = passing.times[(passing.place < 0) & passing.up]
    extra = [item for item in dropouts(follow_tempo(times)) if item.kind == "extra"]
    assert len(extra) == 3
    np.testing.assert_allclose(sorted(item.start for item in extra), np.sort(truth))


def test_a_long_dropout_is_counted_by_the_tempo_before_it() -> None:
    times = np.arange(2000) * 1e-3
    kept = np.delete(times, np.arange(700, 812))
    (found,) = dropouts(follow_tempo(kept))
    assert found.count == 112
    assert (found.start, found.end) == (times[699], times[812])
    assert found.speed == pytest.approx(1000.0, rel=1e-6)
    assert np.isnan(found.angle)


def test_a_stop_between_two_drives_is_not_passed_off_as_a_dropout() -> None:
    slowing = np.cumsum(np.linspace(1e-3, 30e-3, 200))
    times = np.concatenate([slowing, slowing[-1] + 3.0 + np.arange(300) * 1e-3])
    longest = max(dropouts(follow_tempo(times)), key=lambda item: item.end - item.start)
    assert longest.stop


def test_too_few_edges_have_no_tempo() -> None:
    with pytest.raises(InputError, match="too few to follow"):
        follow_tempo(np.arange(5.0))
