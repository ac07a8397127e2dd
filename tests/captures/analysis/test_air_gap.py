"""A coil's amplitude against speed and gap: signals from ngspice, whose gap is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from captures.coil import Coil, coil_signal
from proveout.captures.analysis.air_gap import CoilAmplitude, coil_amplitude, gap_change
from proveout.captures.analysis.run_out import run_out_of_amplitude
from proveout.captures.analysis.tooth_amplitude import tooth_swings
from proveout.captures.capture import Clock
from proveout.errors import InputError

PITCH = 6.0e-3


def amplitude(coil: Coil, first: float, last: float, turns: float = 3.0, noise: float = 0.0) -> CoilAmplitude:
    """Return the amplitude of a wheel that runs from one speed to another [rpm]."""
    angle = np.linspace(0.0, turns, 600)
    slow = 60.0 / np.linspace(first, last, angle.size)
    time = np.concatenate([[0.0], np.cumsum(np.diff(angle) * (slow[1:] + slow[:-1]) / 2)])
    rate = 40 * coil.teeth * max(first, last) / 60
    at = np.arange(int(time[-1] * rate)) / rate
    volts = coil_signal(coil, time, angle, at)
    volts = volts + np.random.default_rng(1).normal(0, noise, volts.size)
    edge = np.arange(2, int(turns * coil.teeth) - 2) / coil.teeth
    swings = tooth_swings(volts, Clock(rate=rate), np.interp(edge, angle, time))
    frequency = coil.teeth / np.interp(edge, angle, slow)
    return coil_amplitude(swings, frequency, np.round(edge * coil.teeth).astype(np.int64) % coil.teeth, coil.teeth)


def test_a_coil_without_load_grows_in_proportion_to_speed() -> None:
    found = amplitude(Coil(load=10e6, inductance=0.01), 150, 900)
    assert found.exponent == pytest.approx(1.0, abs=0.02)


def test_inductance_and_load_hold_the_amplitude_back_at_speed() -> None:
    # |10k / (11.2k + j w 0.6)| falls as the speed grows: at 3000 teeth/s w L is as large as the resistances.
    found = amplitude(Coil(), 1500, 4500)
    assert 0.4 < found.exponent < 0.85


@pytest.mark.parametrize("wider", [-0.3e-3, 0.2e-3, 0.5e-3])
@pytest.mark.parametrize("rpm", [200, 260])
def test_the_change_of_gap_is_found_whatever_the_speed(wider: float, rpm: float) -> None:
    reference = amplitude(Coil(), 150, 320)
    found = gap_change(amplitude(Coil(gap=1e-3 + wider), rpm, rpm, noise=0.01), reference)
    assert found.length(PITCH) == pytest.approx(wider, abs=0.02e-3 + 4 * found.uncertainty * PITCH)
    assert "series resistance" in found.reason


def test_a_series_resistance_passes_for_a_gap_as_the_reason_says() -> None:
    """12.6 kohm before a 10 kohm input takes the swing down by 11.2 / 23.8: ln of it over 2 pi is 0.12 pitches."""
    found = gap_change(amplitude(Coil(series=12.6e3), 200, 200), amplitude(Coil(), 200, 200))
    assert found.pitches == pytest.approx(np.log(23.8 / 11.2) / (2 * np.pi), rel=0.02)


def test_run_out_of_the_wheel_shows_in_the_teeth() -> None:
    found = amplitude(Coil(run_out=0.08e-3), 220, 220, turns=5)
    angles = np.arange(60) / 60
    around = run_out_of_amplitude(angles, found.teeth)
    assert around.eccentricity * PITCH == pytest.approx(0.08e-3, rel=0.05)


def test_weak_is_said_at_cranking_speed_and_left_open_at_road_speed() -> None:
    assert amplitude(Coil(), 200, 200).weak is False
    assert amplitude(Coil(gap=4.5e-3), 200, 200).weak is True
    assert amplitude(Coil(), 2000, 2000).weak is None


def test_published_cranking_amplitudes_are_called_usual() -> None:
    """50 to 300 mV peak to peak while cranking (a secondary page)."""
    place = np.arange(60, dtype=np.int64)
    for volts, weak in ((0.3, False), (0.06, False), (0.04, True)):
        assert coil_amplitude(np.full(60, volts), np.full(60, 200.0), place, 60).weak is weak


def test_the_swing_over_a_tooth_is_that_of_its_sine() -> None:
    rate, speed = 48_000.0, 600.0
    samples = np.sin(2 * np.pi * speed * np.arange(4800) / rate).astype(np.float32)
    edges = np.arange(1, 58) / speed
    found = tooth_swings(samples, Clock(rate=rate), edges)
    assert np.isnan(found[[0, -1]]).all()
    assert found[1:-1] == pytest.approx(2.0, rel=1e-3)


def test_a_spoilt_sample_spoils_no_swing_and_uneven_clocks_serve_too() -> None:
    times = np.sort(np.random.default_rng(2).uniform(0, 0.1, 9000))
    samples = np.sin(2 * np.pi * 600 * times)
    samples[77] = np.nan
    found = tooth_swings(samples, Clock(times=times), np.arange(1, 58) / 600)
    assert found[1:-1] == pytest.approx(2.0, rel=0.02)


def test_two_teeth_are_too_few() -> None:
    with pytest.raises(InputError, match="too few"):
        coil_amplitude(np.ones(2), np.ones(2), np.zeros(2, np.int64), 1)
    assert np.isnan(tooth_swings(np.zeros(9), Clock(rate=1.0), np.array([1.0, 2.0]))).all()


def test_the_reference_with_its_exponent_fitted_carries_the_comparison() -> None:
    reference = amplitude(Coil(), 150, 320)
    other = replace(reference, swing=reference.swing * 2, frequency=reference.frequency * 2, exponent_uncertainty=0.0)
    assert abs(gap_change(other, reference).pitches) < 0.01
