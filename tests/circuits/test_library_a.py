"""Crank and cam Hall sensors, both wheel-speed sensors, coolant thermistor: what a technician would see, computed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from circuits.library_readings import SOURCE, shown, shown_at
from proveout.circuits import Circuit, compare_harness, ready_chart, ready_circuit, repair_of
from proveout.circuits.assemble import assemble
from proveout.circuits.schema import Phase
from proveout.diagnosis.faults import enumerate_faults
from proveout.diagnosis.observables import observable_of_measurement
from proveout.diagnosis.predict import predict
from proveout.instruments import default_meter

NAMES = ("crank-hall-5v", "cam-hall-12v", "wheel-vr", "wheel-current", "coolant-ntc")

NO_COMPLAINT = {
    # A reference above 5 V does not hurt a sensor that pulls a 5 V signal down: code P0641 tells, the engine starts.
    "crank-hall-5v": {"reference.high", "ref_to_feed.short"},
    # Eight milliamperes pass a bad fuse holder, and a weak short that spares the fuse spares the sensor.
    "cam-hall-12v": {"f12.resistive", "sup_to_engine.short"},
    # The drawing gives shorted turns their resistance, but not the signal that goes with them.
    "wheel-vr": {"sensor.shorted_turns"},
    "wheel-current": set(),
    "coolant-ntc": set(),
}
"""Faults under which the customer would notice nothing."""


def faults_of(name: str) -> list[str]:
    return [fault.reference for fault in enumerate_faults(assemble(ready_circuit(name)))]


def faults_beyond(name: str, measurement: str, *, above: float = math.inf, below: float = -math.inf) -> set[str]:
    found = shown(name)
    reading = found.readings[measurement]
    return {f for f in faults_of(name) if np.any((reading[found.of(f)] > above) | (reading[found.of(f)] < below))}


def reading(circuit: Circuit, measurement: str) -> float:
    """Return one reading of a sound circuit."""
    observable = observable_of_measurement(circuit, circuit.measurements[measurement], default_meter())
    return float(predict(assemble(circuit), (), (observable,), SOURCE).mean[0, 0])


def with_setting(circuit: Circuit, setup: str, condition: str, value: float) -> Circuit:
    """Return the circuit with another setting in one set-up."""
    chosen = circuit.setups[setup]
    changed = chosen.model_copy(update={"set": {**chosen.set, condition: value}})
    return circuit.model_copy(update={"setups": {**circuit.setups, setup: changed}})


@pytest.mark.parametrize("name", NAMES)
def test_each_circuit_has_a_fixed_order_chart(name: str) -> None:
    assert ready_chart(name).circuit == name


@pytest.mark.parametrize("name", NAMES)
def test_a_sound_vehicle_reads_inside_every_limit_of_the_manual(name: str) -> None:
    found = shown(name)
    assert {k: float(found.readings[k][0]) for k, good in found.good.items() if not good[0]} == {}


@pytest.mark.parametrize("name", NAMES)
def test_every_measurement_has_a_limit_of_the_manual(name: str) -> None:
    assert [k for k, m in ready_circuit(name).measurements.items() if m.limit is None] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_sound_vehicle_behaves_well(name: str) -> None:
    found = shown(name)
    behaviours = found.circuit.behaviours
    assert [k for k, seen in found.outcomes.items() if not behaviours[k].outcomes[seen[0]].good] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_fault_takes_some_reading_out_of_its_limits(name: str) -> None:
    found = shown(name)
    assert [fault for fault in faults_of(name) if not found.bad_readings(fault)] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_customer_notices_every_fault_but_those_named(name: str) -> None:
    found = shown(name)
    silent = {fault for fault in faults_of(name) if not found.bad_behaviours(fault, "complaint")}
    assert silent == NO_COMPLAINT[name]


@pytest.mark.parametrize("name", NAMES)
def test_whatever_the_customer_notices_some_reading_shows(name: str) -> None:
    """At every severity that brings the complaint, not only at the worst."""
    found = shown(name, 16)
    complaint = found.outcomes[found.circuit.proof]
    hidden = [
        found.rows[k]
        for k, seen in enumerate(complaint)
        if seen != complaint[0] and all(good[k] for good in found.good.values())
    ]
    assert hidden == []


@pytest.mark.parametrize("name", NAMES)
def test_the_sensor_is_a_strong_suspect_and_still_more_often_good_than_bad(name: str) -> None:
    """Common practice: connections and wires together fail more often than the sensor between them."""
    circuit = ready_circuit(name)
    sensor = next(unit for unit in circuit.units if unit.endswith("_sensor"))
    faults = enumerate_faults(assemble(circuit))
    assert 0.1 < sum(f.weight for f in faults if repair_of(circuit, f.part)[0] == sensor) < 0.5


@pytest.mark.parametrize("name", NAMES)
def test_no_look_is_infallible(name: str) -> None:
    """Common practice: a terminal can look well and be bad, and the reverse."""
    for look in ready_circuit(name).looks.values():
        assert all(0 < chance < 1 for row in [*look.given.values(), look.otherwise] for chance in row.values())


def test_a_reference_between_4_8_and_5_2_volts_and_a_low_reference_under_1_ohm_are_good() -> None:
    """Common practice for a three-wire 5 V sensor."""
    found = shown("crank-hall-5v")
    assert 4.8 <= found.readings["reference_at_cs"][0] <= 5.2
    assert found.readings["low_ohms_at_cs"][0] < 1.0


def test_a_high_reference_is_a_short_to_a_supply_or_the_unit_or_its_ground() -> None:
    """Common practice says short to a supply; measured against the battery, a lifted unit ground lifts it too."""
    assert faults_beyond("crank-hall-5v", "reference_at_cs", above=5.2) == {
        "reference.high", "ref_to_feed.short", "w_ecm_ground.open", "w_ecm_ground.resistive",
    }  # fmt: skip
    assert faults_beyond("crank-hall-5v", "reference_over_low_at_cs", above=5.2) == {
        "reference.high", "ref_to_feed.short",
    }  # fmt: skip


def test_a_low_reference_voltage_is_an_open_a_short_to_ground_or_the_unit() -> None:
    """Common practice; resistance in the wire does not show while nothing flows."""
    assert faults_beyond("crank-hall-5v", "reference_at_cs", below=4.8) == {
        "reference.dead", "reference.low", "t_ce_ref.open", "w_ref.open", "ref_to_ground.short", "ref_to_low.short",
    }  # fmt: skip


def test_a_low_reference_over_1_ohm_is_its_wire_its_terminal_or_the_ground_behind_it() -> None:
    assert faults_beyond("crank-hall-5v", "low_ohms_at_cs", above=1.0) == {
        "t_ce_low.open", "t_ce_low.resistive", "w_low.open", "w_low.resistive",
        "low_track.open", "low_track.high", "w_ecm_ground.open", "w_ecm_ground.resistive",
    }  # fmt: skip


def test_the_engine_falls_back_to_the_cam_signal_and_not_without_the_shared_reference() -> None:
    found = shown("crank-hall-5v")
    crank_alone = ("sensor.stuck_off", "sensor.stuck_on", "w_sig.open", "t_cs_ref.open", "sig_to_ground.short")
    shared = ("reference.dead", "low_track.open")
    codes = ("start", "engine_speed", "p0335")
    seen = {f: tuple(found.outcomes[c][found.of(f)[0]] for c in codes) for f in (*crank_alone, *shared)}
    assert {seen[f] for f in crank_alone} == {("late", "zero", "set")}
    assert {seen[f] for f in shared} == {("none", "zero", "absent")}


def test_a_short_inside_the_crank_sensor_takes_the_cam_sensor_with_it() -> None:
    found = shown_at("crank-hall-5v", "sensor.supply_short", 5.0)
    assert found.outcomes["start"][1] == "none"
    assert found.outcomes["p0641"][1] == "set"


def test_a_signal_of_43_to_63_percent_duty_reads_the_same_on_alternating_volts() -> None:
    """Duty of a gear-tooth Hall sensor: Allegro ATS645LSH data sheet, p. 4; rms of a square wave by hand."""
    circuit = ready_circuit("crank-hall-5v")
    cranking = circuit.setups["cranking"]
    found = shown("crank-hall-5v")
    swing = found.readings["signal_swing_at_ce"][0]
    limit = circuit.measurements["signal_ac_at_ce"].limit
    assert limit is not None and limit.low is not None and limit.high is not None
    for duty in (0.43, 0.53, 0.63):
        phases = [Phase(set={"crank_target": "tooth"}, share=duty), Phase(set={"crank_target": "gap"}, share=1 - duty)]
        changed = cranking.model_copy(update={"phases": phases})
        turned = circuit.model_copy(update={"setups": {**circuit.setups, "cranking": changed}})
        rms = reading(turned, "signal_ac_at_ce")
        assert rms == pytest.approx(swing * math.sqrt(duty * (1 - duty)), rel=0.02)  # scope and meter load differ
        assert limit.low < rms < limit.high


def test_a_kilohm_terminal_inside_the_mated_plug_hides_from_all_but_a_loaded_signal() -> None:
    """Nothing can be probed behind the plug and 10 megohm draw no current: only the load resistor shows it."""
    found = shown_at("crank-hall-5v", "t_ce_sig.resistive", 4700.0)
    assert found.outcomes["start"][1] == "late"
    assert [name for name, good in found.good.items() if not good[1]] == ["signal_high_loaded"]
    # By hand: 5 V over 2.2 kilohm, 4.7 kilohm and the load of 2.2 kilohm.
    assert found.readings["signal_high_loaded"][1] == pytest.approx(5.0 * 2200 / 9100, rel=0.02)


def test_resistance_in_the_cam_supply_hides_from_a_voltmeter_and_not_from_a_load() -> None:
    found = shown_at("cam-hall-12v", "w_sup.resistive", 2.0)
    assert found.good["supply_at_cc"][1] and found.good["supply_over_ground_at_cc"][1]
    assert not found.good["supply_loaded"][1] and not found.good["supply_drop_loaded"][1]
    # By hand: 12.6 V over 10 ohm, 2 ohm and some 0.12 ohm of battery, relay, fuse and wires, times 2 ohm and 0.10 ohm.
    assert found.readings["supply_drop_loaded"][1] == pytest.approx(12.6 / 12.12 * 2.10, rel=0.01)


def test_a_strand_of_copper_in_the_ground_passes_an_ohms_test_and_fails_under_load() -> None:
    """Common practice: under 1 ohm counts as good; at an ampere it costs most of a volt."""
    found = shown_at("cam-hall-12v", "w_gnd.resistive", 0.6)
    assert found.good["ground_ohms_at_cc"][1] and found.good["gnd_continuity"][1]
    assert not found.good["ground_drop_loaded"][1]
    assert found.outcomes["start"][1] == "normal"  # and the sensor, which draws milliamperes, does not mind


def test_the_purge_valve_on_the_same_fuse_says_on_which_side_of_the_splice_the_supply_is_open() -> None:
    found = shown("cam-hall-12v")
    seen = {f: found.outcomes["purge_click"][found.of(f)[0]] for f in ("f12.blown", "w_supply.open", "w_sup.open")}
    assert seen == {"f12.blown": "silent", "w_supply.open": "silent", "w_sup.open": "clicks"}


def test_an_open_coil_shows_at_rest_and_a_wide_gap_only_on_the_move() -> None:
    found = shown("wheel-vr")
    assert {found.outcomes["c0031"][k] for k in found.of("sensor.open")} == {"circuit"}
    assert {found.outcomes["c0031"][k] for k in found.of("gap.weak")} <= {"signal", "clear"}
    assert {found.outcomes["circuit_check"][k] for k in found.of("gap.weak")} == {"sound"}


def test_the_bias_of_a_sound_coil_follows_from_its_divider_by_hand() -> None:
    """5 V over 22 kilohm (beside it 1 megohm to ground), 1.1 kilohm and 22 kilohm; less than 2 % for the megohm."""
    found = shown("wheel-vr")
    assert found.readings["bias_over_coil"][0] == pytest.approx(5.0 * 1.1 / 45.1, rel=0.03)
    assert found.readings["bias_n"][0] == pytest.approx(5.0 * 22 / 45.1, rel=0.03)


def test_exchanged_coil_wires_change_no_reading_and_are_found_by_their_colours() -> None:
    sound = ready_circuit("wheel-vr")
    crossed = {"w_p": ["p_e", "n_s"], "w_n": ["n_e", "p_s"]}
    parts = {**sound.parts, **{k: sound.parts[k].model_copy(update={"nodes": nodes}) for k, nodes in crossed.items()}}
    exchanged = sound.model_copy(update={"parts": parts})
    for name in ("signal_ac_mated", "signal_swing_mated", "bias_over_coil", "loop_ohms", "bias_p", "bias_n"):
        assert reading(exchanged, name) == pytest.approx(reading(sound, name), rel=1e-3)
    assert compare_harness(sound, "KS", {"1": "BK", "2": "YE"}).swapped == (("1", "2"),)


def test_seven_and_fourteen_milliamperes_read_as_0_7_and_1_4_volts_over_100_ohm() -> None:
    """Levels: Analog Devices AD22157 preliminary data sheet; resistor: a workshop manual's specification table."""
    found = shown("wheel-current")
    assert found.readings["return_low"][0] == pytest.approx(0.7, rel=2e-3)
    assert found.readings["return_high"][0] == pytest.approx(1.4, rel=2e-3)
    assert found.readings["current_at_ku"][0] == pytest.approx(0.0105, rel=1e-3)


def test_the_limits_of_the_current_sensor_are_the_manuals_currents_over_100_ohm() -> None:
    """Low 5.9 to 8.4 mA, high 11.8 to 16.8 mA: a workshop manual's specification table."""
    measurements = ready_circuit("wheel-current").measurements
    for name, low, high in (("return_low", 5.9e-3, 8.4e-3), ("return_high", 11.8e-3, 16.8e-3)):
        limit = measurements[name].limit
        assert limit is not None
        assert (limit.low, limit.high) == pytest.approx((low * 100, high * 100))


def test_a_resistor_in_place_of_the_current_sensor_clears_the_harness() -> None:
    """By hand: 12 V over 1 kilohm, 100 ohm, 5 ohm of the supply and some 0.3 ohm of wire."""
    found = shown("wheel-current")
    assert found.readings["substitute_return_ku"][0] == pytest.approx(12.0 * 100 / 1105.3, rel=1e-3)
    beyond = faults_beyond("wheel-current", "substitute_return_ku", below=0.98)
    beyond |= faults_beyond("wheel-current", "substitute_return_ku", above=1.18)
    suspects = {repair_of(found.circuit, fault.split(".")[0])[0] for fault in beyond}
    assert suspects == {"brake_unit", "ku_terminal", "w_p", "w_n", "pair"}


def test_a_blind_current_sensor_and_a_bad_encoder_ring_read_alike_and_are_told_apart_by_looking() -> None:
    found = shown("wheel-current")
    blind, ring = found.of("sensor_step.dead")[0], found.of("encoder.stuck_open")[0]
    assert all(good[blind] == good[ring] for good in found.good.values())
    apart = {k for k, v in found.readings.items() if v[blind] != pytest.approx(v[ring], rel=1e-3, abs=2e-3)}
    assert apart == set()
    assert all(seen[blind] == seen[ring] for seen in found.outcomes.values())
    look = found.circuit.looks["look_at_encoder"]
    assert look.given["encoder.stuck_open"]["bad"] > 10 * look.otherwise["bad"]


@pytest.mark.parametrize(
    ("temperature", "resistance", "voltage"), [(20, 2500, 3.571), (80, 323, 1.221), (100, 187, 0.788)]
)
def test_the_coolant_sensor_follows_its_published_row(temperature: float, resistance: float, voltage: float) -> None:
    """2500 ohm at 20 C, 323 at 80 C, 187 at 100 C; 3.571, 1.221, 0.788 V at 1 kilohm to 5 V (a secondary help page)."""
    circuit = ready_circuit("coolant-ntc")
    cold = with_setting(circuit, "ct_off_cold", "coolant", temperature)
    assert reading(cold, "sensor_ohms_cold") == pytest.approx(resistance, rel=1e-3)
    live = with_setting(circuit, "cold", "coolant", temperature)
    assert reading(live, "signal_cold_at_ce") == pytest.approx(voltage, abs=0.003)


def test_unplugged_reads_minus_40_and_the_jumper_reads_hot_and_together_they_clear_the_harness() -> None:
    """Common practice: whatever fails these two lies in the harness or the unit, never in the sensor."""
    found = shown("coolant-ntc")
    for behaviour in ("shown_unplugged", "shown_jumper"):
        failing = {f for f in faults_of("coolant-ntc") if behaviour in found.bad_behaviours(f)}
        assert failing and not {f for f in failing if f.startswith(("sensor.", "pins_wet.", "t_ct_"))}


def test_the_intake_air_reading_says_on_which_side_of_the_splice_the_low_reference_is_open() -> None:
    found = shown("coolant-ntc")
    places = ("w_low.open", "t_ce_low.open", "low_track.open", "w_low_sensor.open", "t_ct_low.open")
    assert {f: found.outcomes["air_shown"][found.of(f)[0]] for f in places} == {
        "w_low.open": "wrong", "t_ce_low.open": "wrong", "low_track.open": "wrong",
        "w_low_sensor.open": "plausible", "t_ct_low.open": "plausible",
    }  # fmt: skip


def test_an_open_sets_the_high_code_a_short_the_low_code_and_a_drift_the_range_code() -> None:
    """P0118 high input, P0117 low input, P0116 range or performance: SAE J2012."""
    found = shown("coolant-ntc")
    places = {"p0118": ("sensor.open", "t_ct_low.open", "w_sig.open"), "p0116": ("sensor.high",)}
    for code, faults in places.items():
        assert all({found.outcomes[code][k] for k in found.of(fault)} == {"set"} for fault in faults)
    hard = shown_at("coolant-ntc", "sig_to_ground.short", 0.5)
    assert (hard.outcomes["p0117"][1], hard.outcomes["p0118"][1]) == ("set", "low_instead")
