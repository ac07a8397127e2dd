"""The parts of pattern decoding, each against a closed form, a slow way to the same number, or an outside library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from captures.synthetic import cranking, missing_teeth, pass_sensor, sweep
from proveout.captures.analysis.pattern.damaged import with_teeth_gone
from proveout.captures.analysis.pattern.describe import grid_wheels, uneven_wheel
from proveout.captures.analysis.pattern.explanation import explanations, marginal, uneven_evidence
from proveout.captures.analysis.pattern.follow import Noise, Prices, follow
from proveout.captures.analysis.pattern.period import (
    _mean_mismatch,
    proposed_periods,
    repeat_mismatch,
    symmetric_ratio,
)
from proveout.captures.analysis.pattern.template import fold, noise_of
from proveout.captures.analysis.pattern.turns import laid_out
from proveout.captures.analysis.pattern.usual_wheels import usual_wheels
from proveout.captures.analysis.pattern.width_code import find_code
from proveout.captures.analysis.wheel import Wheel

STEPS_12_1 = np.array([1.0] * 10 + [2.0])


def test_the_symmetric_ratio_is_blind_to_even_acceleration_and_sees_a_gap() -> None:
    logs = np.linspace(-5.0, -6.0, 30)
    assert symmetric_ratio(logs) == pytest.approx(0.0, abs=1e-12)
    logs[15] += np.log(3)
    assert symmetric_ratio(logs)[14] == pytest.approx(np.log(3))


@pytest.mark.parametrize("period", [1, 4, 11, 29])
def test_the_fast_mismatch_of_all_periods_is_that_of_each(period: int) -> None:
    logs = np.random.default_rng(1).normal(0, 0.05, 120)
    change = logs[period:] - logs[:-period]
    width = min(max(period, 9), change.size)
    begins = np.clip(np.arange(change.size) - width // 2, 0, change.size - width)
    mean = np.array([change[b : b + width].mean() for b in begins])
    assert _mean_mismatch(logs, 40, 0.25, 9)[period - 1] == pytest.approx(
        np.mean(np.minimum((change - mean) ** 2, 0.25))
    )
    assert np.mean(repeat_mismatch(logs, period)) == pytest.approx(np.mean((change - mean) ** 2), rel=0.35)


def test_the_turn_is_among_the_first_periods_proposed() -> None:
    passing = pass_sensor(
        missing_teeth(36, 1), cranking(200, 6, ripple=0.3), np.random.default_rng(2), tooth_error=0.02
    )
    assert 35 in proposed_periods(np.log(np.diff(passing.only(True).times)))[:2]


def test_noise_of_a_wandering_level_is_estimated() -> None:
    draw = np.random.default_rng(3)
    slope = np.cumsum(draw.normal(0, 0.01, 40_000))
    level = np.cumsum(slope) + draw.normal(0, 0.05, slope.size)
    noise = noise_of(level)
    assert noise.sigma == pytest.approx(0.05, rel=0.05)
    assert noise.accel == pytest.approx(0.01, rel=0.25)


def test_joint_decoding_puts_edges_on_places_past_a_lost_one_and_an_extra_one() -> None:
    angle = np.concatenate([[0.0], np.cumsum(np.tile(STEPS_12_1, 4))])
    place = np.arange(angle.size) % 11
    keep = np.arange(angle.size) != 16
    times = np.sort(np.append(angle[keep], 30.4))
    truth = np.insert(place[keep], np.searchsorted(angle[keep], 30.4), -1)
    path = follow(times, STEPS_12_1, Noise(0.02, 0.02))
    assert path.place.tolist() == truth.tolist()
    assert not np.any(path.fresh)


def test_a_known_start_does_not_change_a_clear_path() -> None:
    passing = pass_sensor(missing_teeth(12, 1), sweep(200, 900, 6, 0.4), np.random.default_rng(4)).only(True)
    free = follow(passing.times, STEPS_12_1, Noise(0.02, 0.02))
    held = follow(passing.times, STEPS_12_1, Noise(0.02, 0.02), start=int(passing.place[0]))
    assert free.place.tolist() == held.place.tolist() == passing.place.tolist()


def test_a_dropout_starts_the_count_anew_and_the_turns_between_are_counted() -> None:
    passing = pass_sensor(missing_teeth(12, 1), sweep(300, 330, 14), np.random.default_rng(5)).only(True)
    keep = (passing.times < passing.times[40]) | (passing.times > passing.times[95])
    path = follow(passing.times[keep], STEPS_12_1, Noise(0.02, 0.02))
    place, turn, lost = laid_out(passing.times[keep], path.place, path.fresh, np.arange(11) / 12)
    assert place.tolist() == passing.place[keep].tolist()
    assert (turn + passing.turn[0]).tolist() == passing.turn[keep].tolist()
    assert lost.shape[0] == 56


def test_evidence_of_an_uneven_wheel_is_a_normal_density() -> None:
    logs, error = np.array([0.3, -0.2, 0.1, 0.4]), np.full(4, 0.05)
    outside = multivariate_normal(np.full(4, -np.log(4)), np.diag(0.64 + error**2) + 1.0).logpdf(logs)
    assert uneven_evidence(logs, error) == pytest.approx(outside - 4.0)


def test_evidence_without_ripple_or_tooth_errors_peaks_at_the_steps_of_the_wheel() -> None:
    steps = STEPS_12_1 / 12
    logs = np.stack([np.roll(np.log(steps), k) for k in range(11)], axis=1)
    assert int(np.argmax(marginal(logs, steps, np.full(11, 0.01)))) == 0


def test_sure_ripple_of_one_order_is_not_taken_for_a_gap() -> None:
    """A wheel of twelve even teeth under 30 % ripple twice a turn: `even` leads by far over any listed wheel."""
    motion = cranking(200, 20, ripple=0.3, per_turn=2)
    passing = pass_sensor(missing_teeth(12, 0), motion, np.random.default_rng(6), jitter=0.01).only(True)
    found = explanations(fold(passing.times, 12, Prices()), [e.wheel for e in usual_wheels()], [])
    assert found[0].kind == "even"


def test_wheels_are_described_as_the_trade_writes_them() -> None:
    assert grid_wheels(np.log([1.0] * 29 + [2.0]))[0].name == "31-1"
    assert grid_wheels(np.log([1.0] * 15 + [3.0] + [1.0] * 12 + [3.0, 3.0]))[0].name.startswith(
        "36 places: 16 on 2 off, 13 on 2 off, 1 on 2 off"
    )
    assert grid_wheels(np.log([1.0] * 11 + [0.5, 0.5]))[-1].name == "12+1"
    wheel, first = uneven_wheel(np.log([2.0, 1.0, 1.5]))
    assert first == 1
    assert wheel.angles == pytest.approx([0.0, 1 / 4.5, 2.5 / 4.5])


def test_the_list_holds_wheels_whose_names_count_their_teeth_and_whose_sources_are_told() -> None:
    for entry in usual_wheels():
        assert entry.source in {"common practice", "from memory"}
        first, *rest = entry.wheel.name.replace("+", " +").replace("-", " -").split()
        assert entry.wheel.teeth == int(first) + sum(int(part) for part in rest)
    assert len({entry.wheel.name for entry in usual_wheels()}) == len(usual_wheels())


def test_a_tooth_gone_beside_the_gap_is_not_guessed() -> None:
    usual = [entry.wheel for entry in usual_wheels() if entry.wheel.name == "60-2"]
    inside = Wheel("x", tuple(k / 60 for k in range(58) if k != 10), 60)
    beside = Wheel("60-3", tuple(k / 60 for k in range(57)), 60)
    way = with_teeth_gone(inside, usual)
    assert way is not None
    assert 10 not in way[1].tolist()
    assert with_teeth_gone(beside, usual) is None


def test_widths_of_one_kind_are_no_code_and_sampling_is_not_either() -> None:
    draw = np.random.default_rng(7)
    plain, coded = np.full(60, 0.5) + draw.normal(0, 0.02, 60), np.tile([0.3, 0.3, 0.6, 0.6], 15)
    pitch = np.full(60, 0.01)
    assert find_code(plain, pitch) is None
    code = find_code(coded, pitch)
    assert code is not None
    assert code.wheel.widths == pytest.approx([0.6, 0.6, 0.3, 0.3])
    assert find_code(coded, pitch, resolution=0.0025) is None


def test_a_code_is_followed_past_a_lost_tooth() -> None:
    code = [1, 0, 0, 1, 1, 1, 0, 1, 0, 0]
    duty = np.delete(np.tile(np.where(np.array(code) > 0, 0.7, 0.3), 12), 43)
    found = find_code(duty, np.full(duty.size, 0.01))
    assert found is None or np.all(np.diff(found.place[50:]) % 10 == 1)
