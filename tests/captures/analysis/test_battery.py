"""Battery and starter against a circuit solved by ngspice, scipy's regression, and voltages that are set."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from proveout.captures.analysis.battery import compressions, find_cranking, internal_resistance
from proveout.errors import InputError

Floats = NDArray[np.float64]
RATE = 1000.0


def start(rng: np.random.Generator, noise: float = 0.01) -> tuple[Floats, Floats, Floats]:
    """An invented start: 12.6 V at rest, 6 milliohm, 650 A in-rush, 140 A turning, 7 compressions a second."""
    times = np.arange(4000) / RATE
    on = (times >= 1.0) & (times < 3.0)
    since = times - 1.0
    current = np.where(on, 140 + 510 * np.exp(-since / 0.05) + 25 * np.cos(2 * np.pi * 7 * since), 0.0)
    voltage = 12.6 - 0.006 * current + np.where(times >= 3.0, 1.5, 0.0)
    return times, voltage + rng.normal(0, noise, times.size), current + rng.normal(0, 2.0, times.size)


def test_rest_in_rush_plateau_and_end_of_a_start_are_found() -> None:
    times, voltage, _ = start(np.random.default_rng(12))
    found = find_cranking(times, voltage)
    assert found.onset == pytest.approx(1.0, abs=0.003)
    assert found.end == pytest.approx(3.0, abs=0.003)
    assert found.recovered
    assert found.resting == pytest.approx(12.6, abs=5 * found.resting_error)
    assert found.lowest == pytest.approx(12.6 - 0.006 * 675, abs=0.05)
    assert found.plateau == pytest.approx(12.6 - 0.006 * 140, abs=0.03)
    assert found.running == pytest.approx(14.1, abs=0.01)


def test_a_start_that_the_record_cuts_off_is_said_not_to_have_recovered() -> None:
    times, voltage, _ = start(np.random.default_rng(1))
    found = find_cranking(times[:2500], voltage[:2500])
    assert not found.recovered
    assert np.isnan(found.running)


def test_a_record_without_a_start_is_refused_with_what_it_shows() -> None:
    times = np.arange(3000) / RATE
    with pytest.raises(InputError, match="a start would pull it down"):
        find_cranking(times, 12.6 + np.random.default_rng(2).normal(0, 0.02, times.size))


def test_the_resistance_is_that_of_scipys_regression_and_its_error_is_not_smaller() -> None:
    _, voltage, current = start(np.random.default_rng(5))
    found = internal_resistance(voltage[:3000], current[:3000])
    line = stats.linregress(current[:3000], voltage[:3000])
    assert found.resistance == pytest.approx(-line.slope, rel=1e-9)
    assert found.source == pytest.approx(line.intercept, rel=1e-9)
    assert found.resistance_error >= 0.99 * line.stderr
    assert found.resistance == pytest.approx(0.006, rel=0.01)


def test_a_clamp_the_wrong_way_round_gives_the_same_resistance() -> None:
    _, voltage, current = start(np.random.default_rng(6))
    there, back = internal_resistance(voltage, current), internal_resistance(voltage, -current)
    assert back.resistance == pytest.approx(there.resistance)


def test_the_uncertainty_of_a_resistance_covers_the_truth_as_often_as_it_says() -> None:
    inside = 0
    for seed in range(100, 200):
        rng = np.random.default_rng(seed)
        current = np.abs(np.cumsum(rng.normal(0, 20, 400))) + 50
        drift = np.convolve(rng.normal(0, 0.02, 419), np.ones(20) / 4, "valid")
        found = internal_resistance(12.5 - 0.008 * current + drift, current)
        inside += abs(found.resistance - 0.008) < 2 * found.resistance_error
    assert inside >= 85


def test_no_change_of_current_gives_no_resistance() -> None:
    with pytest.raises(InputError, match="does not change"):
        internal_resistance(np.linspace(12, 11, 50), np.full(50, 100.0))


def test_every_compression_of_the_plateau_is_marked() -> None:
    times, voltage, _ = start(np.random.default_rng(9))
    turning = (times > 1.3) & (times < 3.0)
    found = compressions(times[turning], voltage[turning])
    # The current is greatest, and the voltage least, at whole sevenths of a second after the onset.
    truth = 1.0 + np.arange(3, 14) / 7
    inner = truth[(truth > 1.32) & (truth < 2.98)]
    assert found.size == pytest.approx(inner.size, abs=1)
    assert max(np.abs(inner - time).min() for time in found) < 0.01
