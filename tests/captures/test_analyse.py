"""The whole analysis of a capture: what a technician would look for, found and said; and nothing made up."""

import json
from collections.abc import Mapping

import numpy as np
import pytest
from numpy.typing import NDArray

from captures.engine import Engine, turn
from captures.synthetic import (
    HALL,
    RELUCTANCE,
    TWO_WIRE,
    Motion,
    cranking,
    even_teeth,
    missing_teeth,
    record,
    steady,
    sweep,
)
from proveout.captures import Capture, Channel, Clock, Origin
from proveout.captures.analyse import ANALYSES, analyse
from proveout.captures.findings import CaptureFindings
from proveout.errors import InputError

Values = NDArray[np.float32] | NDArray[np.float64]


def capture(rate: float, **channels: tuple[str, Values]) -> Capture:
    clock = Clock(rate=rate)
    made = tuple(Channel(name, unit, values, clock) for name, (unit, values) in channels.items())
    return Capture(made, Origin("made here", "numpy", 0, "0" * 64))


def value(found: CaptureFindings, name: str, channel: str | None = None) -> float:
    (finding,) = found.of(name, channel)
    assert finding.value is not None
    return finding.value


@pytest.fixture(scope="module")
def crank() -> CaptureFindings:
    rng = np.random.default_rng(21)
    made = record(
        missing_teeth(60, 2), cranking(200, 20, ripple=0.3), RELUCTANCE, rng,
        samples_a_tooth=40, noise_db=25, tooth_error=0.01, lost=3,
    )  # fmt: skip
    return analyse(capture(made.rate, CKP=("V", made.samples)))


def test_a_cranking_capture_without_any_setting_tells_sensor_wheel_speed_and_lost_teeth(crank: CaptureFindings) -> None:
    assert crank.roles["CKP"].role == "crank sensor"
    assert next(crank.of("kind of signal")).word == "variable reluctance"
    assert next(crank.of("wheel")).word == "60-2"
    assert value(crank, "cranking speed") == pytest.approx(200 / 60 * np.sqrt(1 - 0.3**2), rel=0.01)
    assert value(crank, "lost teeth") == 3
    assert value(crank, "extra edges") == 0
    assert [mark.kind for mark in crank.marks].count("lost tooth") == 3
    assert len(crank.wheels[0].angles) == len(crank.wheels[0].amplitude) == 58
    assert sum(crank.wheels[0].lost) == 3


def test_the_findings_survive_json(crank: CaptureFindings) -> None:
    text = json.dumps(crank.as_dict(), allow_nan=False)
    assert CaptureFindings.from_dict(json.loads(text)).as_dict() == crank.as_dict()


def test_a_wheel_sensor_without_a_mark_gets_a_tooth_rate_and_no_speed_of_the_shaft() -> None:
    made = record(even_teeth(48), steady(300, 12), TWO_WIRE, np.random.default_rng(3), noise_db=30)
    found = analyse(capture(made.rate, left=("A", made.samples)))
    assert value(found, "tooth rate") == pytest.approx(240, rel=0.01)
    assert not list(found.of("mean speed"))
    assert any("nothing marks a turn" in item.reason for item in found.undecided)


def test_too_few_samples_a_tooth_give_a_sentence_and_never_a_speed() -> None:
    rng = np.random.default_rng(4)
    made = record(missing_teeth(60, 2), steady(3000, 60), HALL, rng, samples_a_tooth=2.3, noise_db=30)
    found = analyse(capture(made.rate, CKP=("V", made.samples)))
    assert not [finding.name for finding in found.findings if "speed" in finding.name or finding.name == "wheel"]
    assert any("samples a tooth" in item.reason for item in found.undecided)


def test_a_battery_and_a_clamp_are_found_without_names() -> None:
    times = np.arange(60_000) / 15_000
    on, since = (times >= 1) & (times < 3), times - 1
    amps = np.where(on, 140 + 500 * np.exp(-since / 0.05) + 25 * np.cos(2 * np.pi * 7 * since), 0.0)
    rng = np.random.default_rng(5)
    volts = 12.6 - 0.006 * amps + rng.normal(0, 0.02, times.size)
    found = analyse(capture(15_000, a=("V", volts), b=("A", amps + rng.normal(0, 3, times.size))))
    assert {name: role.role for name, role in found.roles.items()} == {"a": "battery voltage", "b": "battery current"}
    assert value(found, "resting voltage") == pytest.approx(12.6, abs=0.005)
    assert value(found, "internal resistance") == pytest.approx(0.006, rel=0.02)
    assert value(found, "compressions") == pytest.approx(7.0, rel=0.02)
    assert [mark.kind for mark in found.marks].count("compression") >= 9


def test_without_a_clamp_no_resistance_is_made_up() -> None:
    times = np.arange(40_000) / 10_000
    volts = 12.6 - 2.0 * ((times >= 1) & (times < 3)) + np.random.default_rng(6).normal(0, 0.02, times.size)
    found = analyse(capture(10_000, battery=("V", volts)))
    assert not list(found.of("internal resistance"))
    assert any("internal resistance" in item.reason for item in found.undecided)


def test_a_weak_cylinder_shows_in_speed_current_and_voltage_alike() -> None:
    # An engine integrated by scipy, its second cylinder leaking: truth does not come from the product.
    turned = turn(Engine(leak=(0.0, 4.0, 0.0, 0.0)), 3.0)
    rate = 40_000.0
    rng = np.random.default_rng(7)
    made = record(missing_teeth(60, 2), Motion(turned.times, turned.angle / (2 * np.pi)), HALL, rng, rate=rate)
    amps = np.interp(np.arange(made.samples.size) / rate, turned.times, turned.current)
    found = analyse(
        capture(rate, crank=("V", made.samples), clamp=("A", amps), battery=("V", 12.6 - 0.012 * amps)),
        {"battery": "battery voltage", "clamp": "battery current"},
    )
    assert value(found, "cylinders") == 4
    for channel in ("crank", "clamp", "battery"):
        shares = [value(found, f"relative compression {k}", channel) for k in (1, 2, 3, 4)]
        assert int(np.argmin(shares)) == 1, (channel, shares)
        assert min(shares) < 65 < sorted(shares)[1]


def test_two_tracks_are_paired_and_one_direction_is_said() -> None:
    motion = sweep(100, 300, 8)
    rate = 20_000.0
    times = np.arange(int(motion.times[-1] * rate)) / rate
    phase = 40 * motion.angle(times)
    tracks = [
        5.0 * (((phase - shift) % 1.0) < 0.5) + np.random.default_rng(8).normal(0, 0.02, times.size)
        for shift in (0, 0.25)
    ]
    found = analyse(capture(rate, a=("V", tracks[0]), b=("V", tracks[1])))
    assert value(found, "two tracks") == pytest.approx(0.25, abs=0.02)
    assert value(found, "travel") == pytest.approx(8 * 40, abs=2)
    assert value(found, "roll-backs") == 0


def test_reverse_by_a_third_level_is_found() -> None:
    # 7, 14 and 28 mA: laboratory description of a magnetoresistive sensor (LD Didactic 582 6241).
    rate, period = 50_000.0, 250
    current = np.full(100 * period, 0.007)
    for k in range(100):
        current[k * period : k * period + 100] = 0.028 if 60 <= k < 80 else 0.014
    current += np.random.default_rng(9).normal(0, 0.0002, current.size)
    found = analyse(capture(rate, sensor=("A", current)))
    assert value(found, "third level") == pytest.approx(0.028, rel=0.05)
    (back,) = [mark for mark in found.marks if mark.kind == "roll-back"]
    assert back.count == 20
    assert back.start == pytest.approx(60 * period / rate, abs=1e-3)


def test_a_given_role_overrules_the_guess_and_a_wrong_one_is_refused() -> None:
    made = record(missing_teeth(60, 2), steady(800, 10), HALL, np.random.default_rng(1), noise_db=30)
    given: Mapping[str, str] = {"channel": "cam sensor"}
    found = analyse(capture(made.rate, channel=("V", made.samples)), given)
    assert found.roles["channel"].role == "cam sensor" and found.roles["channel"].given
    with pytest.raises(InputError, match="is no role"):
        analyse(capture(made.rate, channel=("V", made.samples)), {"channel": "flux"})
    with pytest.raises(InputError, match="no channel 'other'"):
        analyse(capture(made.rate, channel=("V", made.samples)), {"other": "cam sensor"})


@pytest.mark.parametrize(
    "values",
    [
        np.empty(0),
        np.array([1.0]),
        np.array([1.0, 2.0]),
        np.full(50, np.nan),
        np.full(50, 3.3),
        np.array([0.0, np.nan] * 40),
        np.where(np.arange(1000) == 500, 1.0, 0.0),
        np.array([np.inf, -np.inf] * 20),
        np.clip(9 * np.sin(np.arange(5000) / 9), -1, 1),
        np.arange(1000.0),
        np.random.default_rng(0).normal(size=37),
    ],
    ids=["none", "one", "two", "nan", "constant", "half nan", "one spike", "infinite", "clipped", "ramp", "few"],
)
@pytest.mark.parametrize("unit", ["V", "A", "1", ""])
@pytest.mark.parametrize("role", [None, "crank sensor", "battery voltage", "analogue signal"])
def test_poor_samples_end_in_sentences_and_never_in_a_crash(values: Values, unit: str, role: str | None) -> None:
    found = analyse(capture(1000.0, c=(unit, values)), {"c": role} if role else None)
    json.dumps(found.as_dict(), allow_nan=False)
    assert not list(found.of("mean speed")) or values.size > 1000


@pytest.mark.parametrize("holds", [True, False])
def test_value_changes_and_uneven_samples_give_the_same_wheel(holds: bool) -> None:
    made = record(missing_teeth(36, 1), steady(600, 12), HALL, np.random.default_rng(2), samples_a_tooth=50)
    times = np.arange(made.samples.size) / made.rate
    changes = np.flatnonzero(np.diff(made.samples)) + 1
    kept = (
        np.union1d([0], changes) if holds else np.union1d(np.arange(0, times.size, 7), np.union1d(changes, changes - 1))
    )
    clock = Clock(times=times[kept], holds=holds)
    unit = "1" if holds else "V"
    found = analyse(Capture((Channel("CKP", unit, made.samples[kept], clock),), Origin("made", "vcd", 0, "0" * 64)))
    assert next(found.of("wheel")).word == "36-1"
    assert value(found, "mean speed") == pytest.approx(10.0, rel=1e-3)


def test_two_hundred_channels_are_no_trouble() -> None:
    rng = np.random.default_rng(10)
    many = {f"c{k}": ("V", rng.normal(2.5, 0.01, 500)) for k in range(200)}
    assert len(analyse(capture(1000.0, **many)).roles) == 200


def test_every_analysis_has_a_name_of_its_own_and_a_title() -> None:
    names = [analysis.name for analysis in ANALYSES]
    assert len(set(names)) == len(names) and all(analysis.title for analysis in ANALYSES)
