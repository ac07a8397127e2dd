"""Fuel pump, starter, pedal pair, pressure sensor, heated thermostat: what a technician would see, computed."""

from __future__ import annotations

import math
from fnmatch import fnmatchcase

import numpy as np
import pytest

from circuits.library_readings import shown, shown_at
from proveout.circuits import ready_chart, ready_circuit
from proveout.circuits.assemble import assemble, part_value
from proveout.diagnosis.faults import enumerate_faults
from proveout.network.conductors import COPPER, awg_diameter, copper_resistance

NAMES = ("fuel-pump", "starter", "pedal-pair", "pressure-3wire", "heated-thermostat")

NO_READING: dict[str, set[str]] = {
    "fuel-pump": set(),
    "starter": set(),
    "pedal-pair": {"ce_12.open", "ce_12.resistive", "ce_25.open", "ce_25.resistive"},
    "pressure-3wire": set(),
    "heated-thermostat": {"ce_43.resistive"},
}
"""Faults that no measurement of the circuit shows: terminals of a signal at the control unit.

Nothing can be probed behind them and hardly any current flows through them; what the control unit shows of its input,
by itself and with the jumper fitted, is the only witness.
"""

NO_COMPLAINT = {
    "fuel-pump": set(),
    # Fewer turns draw more current and pull in all the same, until they blow the fuse.
    "starter": {"solenoid.coil_short", "relay.coil_short"},
    "pedal-pair": set(),
    # Without its pull-up the input floats only while the signal is open.
    "pressure-3wire": {"input.pull_up_open"},
    # The same; and a trace of coolant between heater and sensor moves the signal by less than the code's threshold.
    "heated-thermostat": {"input.pull_up_open", "heater_sensor.short"},
}
"""Faults under which the customer would notice nothing."""

# Greatest resistance of a metre of flexible copper at 20 C [ohm] by cross-section [mm2], class 5, IEC 60228: 0.5 to
# 2.5 as seen in a secondary table, from 4 mm2 on from memory.
IEC_60228 = {
    0.5: 39.0e-3, 0.75: 26.0e-3, 1.0: 19.5e-3, 1.5: 13.3e-3, 2.5: 7.98e-3,
    4.0: 4.95e-3, 16.0: 1.21e-3, 25.0: 0.780e-3, 35.0: 0.554e-3,
}  # fmt: skip
# The same of vehicle cable, ISO 6722-1, from memory.
ISO_6722 = {0.5: 37.1e-3, 0.75: 24.7e-3, 1.0: 18.5e-3, 1.5: 12.7e-3, 2.5: 7.60e-3}


def faults_of(name: str) -> list[str]:
    return [fault.reference for fault in enumerate_faults(assemble(ready_circuit(name)))]


@pytest.mark.parametrize("name", NAMES)
def test_each_circuit_has_a_fixed_order_chart(name: str) -> None:
    assert ready_chart(name).circuit == name


@pytest.mark.parametrize("name", NAMES)
def test_a_sound_vehicle_reads_inside_every_limit_of_the_manual(name: str) -> None:
    found = shown(name)
    outside = {k: float(found.readings[k][0]) for k, good in found.good.items() if not good[0]}
    assert outside == {}


@pytest.mark.parametrize("name", NAMES)
def test_every_measurement_has_a_limit_of_the_manual(name: str) -> None:
    assert [k for k, m in ready_circuit(name).measurements.items() if m.limit is None] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_sound_vehicle_behaves_well(name: str) -> None:
    found = shown(name)
    seen = {name: found.circuit.behaviours[name].outcomes[outcomes[0]] for name, outcomes in found.outcomes.items()}
    assert [name for name, outcome in seen.items() if not outcome.good] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_fault_takes_some_reading_out_of_its_limits(name: str) -> None:
    found = shown(name)
    assert {fault for fault in faults_of(name) if not found.bad_readings(fault)} == NO_READING[name]


@pytest.mark.parametrize("name", NAMES)
def test_a_customer_notices_every_fault_but_those_named(name: str) -> None:
    found = shown(name)
    silent = {fault for fault in faults_of(name) if not found.bad_behaviours(fault, "complaint")}
    assert silent == NO_COMPLAINT[name]


@pytest.mark.parametrize("name", NAMES)
def test_no_two_suspects_are_told_apart_by_looks_of_certainty(name: str) -> None:
    """No look is infallible: common practice says that a terminal can look well and be bad, and the reverse."""
    for look in ready_circuit(name).looks.values():
        chances = [*look.given.values(), look.otherwise]
        assert all(0 < chance < 1 for row in chances for chance in row.values())


@pytest.mark.parametrize("name", NAMES)
def test_wires_conduct_as_well_as_the_standards_ask_and_no_better_than_copper(name: str) -> None:
    for part in ready_circuit(name).parts.values():
        if part.kind != "wire":
            continue
        area = part_value(part.values["area"], {})
        per_metre = float(copper_resistance(1.0, area))
        greatest = min(IEC_60228[area], ISO_6722.get(area, math.inf))
        assert 0.85 * greatest < per_metre < greatest


def test_the_pump_feed_lies_between_its_neighbouring_american_gauges() -> None:
    """ASTM B258 (NBS Handbook 100): d = 0.127 mm x 92^((36 - n) / 39); 2.5 mm2 lies between 14 and 13 gauge."""
    area = part_value(ready_circuit("fuel-pump").parts["feed_1"].values["area"], {})
    thin, thick = (math.pi / 4 * float(awg_diameter(n)) ** 2 * 1e6 for n in (14, 13))
    assert thin < area < thick
    eighteen = math.pi / 4 * float(awg_diameter(18)) ** 2 * 1e6
    assert float(copper_resistance(304.8, eighteen)) == pytest.approx(6.385, rel=2e-3)


def test_the_drop_of_the_pump_feed_is_current_times_resistance_by_hand() -> None:
    """By hand: 1.7241e-8 ohm m x 4.0 m / 2.5 mm2 = 27.59 milliohm, and 5 milliohm of the sill connector."""
    found = shown("fuel-pump")
    current = found.readings["pump_clamp"][0]
    assert found.readings["line_drop"][0] == pytest.approx(current * (27.586e-3 + 5e-3), rel=1e-4)


def test_a_strand_of_copper_passes_an_ohms_test_and_fails_under_load() -> None:
    """Rot along the wire has left one strand of 0.26 mm (2.5 mm2 has about fifty, from memory) over 15 cm."""
    strand = COPPER * 0.15 / (math.pi / 4 * 0.26e-3**2)
    found = shown_at("fuel-pump", "feed_2.resistive", strand)
    assert found.readings["feed_ohms"][1] < 0.1
    passes = ("feed_ohms", "feed_short", "s87_ground", "plug_open_volts", "plug_open_feed", "coil_ohms")
    assert all(found.good[name][1] for name in passes)
    assert found.readings["plug_open_volts"][1] == pytest.approx(found.readings["plug_open_volts"][0], abs=0.01)
    assert not found.good["line_drop"][1]


def test_half_an_ohm_in_the_feed_reads_well_on_an_ohmmeter_and_starves_the_pump() -> None:
    found = shown_at("fuel-pump", "feed_1.resistive", 0.5)
    assert found.good["feed_ohms"][1] and found.good["plug_open_volts"][1]
    assert not found.good["plug_loaded"][1] and not found.good["line_drop"][1] and not found.good["feed_drop"][1]
    assert found.outcomes["starts"][1] == "slow"
    assert found.outcomes["heard"][1] == "heard"


def test_a_bad_ground_is_found_by_its_drop_and_not_on_the_feed_side() -> None:
    found = shown_at("fuel-pump", "g3.resistive", 0.6)
    assert found.good["feed_drop"][1] and found.good["plug_feed_loaded"][1]
    assert not found.good["ground_drop"][1] and not found.good["ring_drop"][1] and not found.good["plug_loaded"][1]


def test_a_terminal_inside_the_mated_pump_plug_shows_in_the_current_alone() -> None:
    """Nothing can be back-probed behind the plug: full voltage before it, too little current through it."""
    found = shown("fuel-pump")
    assert found.bad_readings("cp_1.open") == {"fuse_current", "pump_clamp", "s87_ground", "jumper_current"}
    assert found.bad_readings("cp_1.open") == found.bad_readings("cp_2.open")


def test_a_welded_relay_keeps_the_pump_running_with_the_key_off() -> None:
    found = shown("fuel-pump")
    runs = [f for f in faults_of("fuel-pump") if "runs" in {found.outcomes["runs_key_off"][k] for k in found.of(f)}]
    assert runs == ["relay.contact_welded"]


def test_an_open_relay_coil_never_closes_its_contact() -> None:
    found = shown_at("fuel-pump", "relay.coil_open", math.inf)
    assert found.outcomes["heard"][1] == "silent"
    assert found.outcomes["code_relay"][1] == "set"


def test_the_drop_of_the_main_cable_is_current_times_resistance_by_hand() -> None:
    """By hand: 1.7241e-8 ohm m x 1.3 m / 35 mm2 = 0.6404 milliohm."""
    found = shown("starter")
    assert found.readings["drop_cable"][0] == pytest.approx(found.readings["crank_amps"][0] * 0.6404e-3, rel=1e-3)


def test_the_battery_current_follows_from_one_loop_by_hand() -> None:
    """12.6 V over the sum of the loop's resistances, the lamps and the control side left out: within 5 %."""
    posts_and_lugs = 5 * 0.2e-3
    cables = 1.7241e-2 * (1.3 / 35 + 0.4 / 25 + 0.35 / 25)
    loop = 7.5e-3 + posts_and_lugs + cables + 0.5e-3 + 45e-3
    assert shown("starter").readings["crank_amps"][0] == pytest.approx(12.6 / loop, rel=0.05)


def test_ten_milliohms_pass_every_ohms_test_and_spoil_the_cranking() -> None:
    """Common practice: at 200 A ten milliohms cost two volts, and no ohmmeter shows them."""
    places = {
        "pos_cable.resistive": ("cable_ohms", "drop_cable"),
        "stud.resistive": ("cable_ohms", "drop_stud"),
        "strap.resistive": ("ground_ohms", "drop_strap"),
        "body_joint.resistive": ("ground_ohms", "drop_body_lug"),
    }
    for fault, (ohms, drop) in places.items():
        found = shown_at("starter", fault, 0.010)
        assert found.good[ohms][1], fault
        assert not found.good[drop][1] and found.readings[drop][1] == pytest.approx(2.0, abs=0.4), fault
        assert found.outcomes["cranks"][1] == "slowly", fault


def test_each_side_of_the_starter_has_its_own_drop() -> None:
    positive = shown_at("starter", "post_pos.resistive", 0.01)
    assert not positive.good["drop_positive"][1] and positive.good["drop_ground"][1]
    ground = shown_at("starter", "post_neg.resistive", 0.01)
    assert ground.good["drop_positive"][1] and not ground.good["drop_ground"][1]
    solenoid = shown_at("starter", "solenoid.contact_resistive", 0.01)
    assert (
        solenoid.good["drop_positive"][1] and solenoid.good["drop_ground"][1] and not solenoid.good["drop_solenoid"][1]
    )


def test_a_drop_without_current_clears_nobody() -> None:
    """Common practice: with a blown fuse no cable drops anything, however bad; the clamp must show current first."""
    found = shown_at("starter", "fuse.blown", math.inf)
    assert all(found.good[k][1] for k in ("drop_positive", "drop_ground", "drop_cable", "drop_strap", "drop_stud"))
    assert not found.good["crank_amps"][1]


def test_what_is_heard_says_how_far_the_start_command_comes() -> None:
    expected = {
        "start_switch.stuck_open": "nothing",
        "clutch_switch.stuck_open": "nothing",
        "relay.coil_open": "nothing",
        "relay.contact_open": "relay",
        "s50.open": "relay",
        "solenoid.coil_open": "relay",
        "solenoid.contact_open": "clicks",
        "motor.open": "clicks",
        "motor.seized": "clicks",
        "stud.open": "clicks",
    }
    found = shown("starter")
    assert {fault: found.outcomes["cranks"][found.of(fault)[0]] for fault in expected} == expected


def test_lamps_that_stay_bright_speak_against_the_battery_and_lamps_that_go_out_for_it() -> None:
    found = shown("starter")
    assert found.outcomes["lamps"][found.of("solenoid.contact_open")[0]] == "bright"
    assert found.outcomes["lamps"][found.of("post_pos.open")[0]] == "out"
    assert "out" in {found.outcomes["lamps"][k] for k in found.of("battery.flat")}


def test_the_load_test_judges_the_battery_alone() -> None:
    """Measured on the posts, it does not see clamps, cables or starter (a motor that runs on counts as a load)."""
    found = shown("starter")
    running_on = {"solenoid.contact_welded", "relay.contact_welded", "signal_cable.short"}
    seen = {fault for fault in faults_of("starter") if "load_volts" in found.bad_readings(fault)}
    assert seen - running_on == {"battery.flat", "battery.weak"}


def test_the_signals_of_the_pedal_keep_their_distance_over_its_travel() -> None:
    """By hand: track 1 stands at 5 V x (0.16 + 0.58 p), track 2 at 5 V x (0.32 + 0.58 p)."""
    found = shown("pedal-pair")
    for position, name in ((0.0, "released"), (0.5, "half"), (1.0, "floored")):
        for k, offset in ((1, 0.16), (2, 0.32)):
            assert found.readings[f"{name}_{k}"][0] == pytest.approx(5.0 * (offset + 0.58 * position), abs=0.03)


def test_each_open_wire_of_the_pedal_sets_the_code_of_its_track_and_the_agreement_code() -> None:
    """An open reference or signal falls to the pull-down (low); an open low reference lets the track rise (high)."""
    expected = {
        "r1.open": {"code_p2122", "code_p2138"},
        "s1.open": {"code_p2122", "code_p2138"},
        "g1.open": {"code_p2123", "code_p2138"},
        "r2.open": {"code_p2127", "code_p2138"},
        "s2.open": {"code_p2127", "code_p2138"},
        "g2.open": {"code_p2128", "code_p2138"},
        "supply_1.dead": {"code_p2122", "code_p2138", "code_p0642"},
    }
    found = shown("pedal-pair")
    assert {fault: found.bad_behaviours(fault, "code") for fault in expected} == expected


def test_one_bad_track_limits_power_and_leaves_the_other_track_alone() -> None:
    found = shown("pedal-pair")
    for fault in ("track_1.wiper_open", "cs_2.open", "g1.open"):
        assert {found.outcomes["response"][k] for k in found.of(fault)} == {"limited"}
        assert found.outcomes["shown_2"][found.of(fault)[0]] == "follows"


@pytest.mark.parametrize("name", NAMES)
def test_what_no_reading_shows_the_control_unit_itself_shows(name: str) -> None:
    found = shown(name)
    assert all(found.bad_behaviours(fault, "display") for fault in NO_READING[name])


def test_the_wiper_reads_its_series_resistor_and_its_share_of_the_track() -> None:
    """By hand: 500 ohm + 0.16 x 2000 ohm released."""
    assert shown("pedal-pair").readings["wiper_1"][0] == pytest.approx(820.0, rel=1e-3)


def faults_beyond(name: str, measurement: str, *, above: float = math.inf, below: float = -math.inf) -> set[str]:
    found = shown(name)
    reading = found.readings[measurement]
    return {f for f in faults_of(name) if np.any((reading[found.of(f)] > above) | (reading[found.of(f)] < below))}


def test_a_reference_above_its_limit_is_a_short_to_a_supply_or_the_unit_itself() -> None:
    """Common practice for three-wire 5 V sensors."""
    assert faults_beyond("pressure-3wire", "reference_volts", above=5.2) == {
        "supply.high", "reference_supply.short", "signal_supply.short",
    }  # fmt: skip


def test_a_reference_below_its_limit_is_an_open_or_a_short_to_ground_or_resistance_that_carries_current() -> None:
    """Common practice says resistance or a short to ground; the neighbour's supply counts as a short to ground.

    Resistance shows only where the neighbour's current flows through it: the branch to the unplugged sensor is idle.
    """
    assert faults_beyond("pressure-3wire", "reference_volts", below=4.8) == {
        "supply.dead", "supply.low", "ce_7.open", "ce_7.resistive", "reference.open",
        "other_sensor.low", "reference_ground.short",
    }  # fmt: skip


def test_resistance_in_an_unloaded_reference_wire_hides_from_the_voltmeter() -> None:
    """300 ohm in series with 10 megohm reads 5 V; with the sensor plugged in a third of it is gone."""
    found = shown_at("pressure-3wire", "reference.resistive", 300.0)
    assert found.good["reference_volts"][1] and not found.good["reference_loaded"][1]
    assert found.readings["reference_loaded"][1] == pytest.approx(5.0 * 600 / 900, rel=0.01)


def test_a_low_reference_over_one_ohm_is_a_fault_of_its_own_wire_or_terminal() -> None:
    """Common practice: under 1 ohm to ground with the ignition off."""
    assert faults_beyond("pressure-3wire", "low_reference_ohms", above=1.0) == {
        "ce_9.open", "ce_9.resistive", "low_reference.open", "low_reference.resistive",
    }  # fmt: skip


def test_unplugging_the_neighbour_brings_the_reference_back() -> None:
    found = shown("pressure-3wire")
    assert "reference_volts" in found.bad_readings("other_sensor.low")
    assert "reference_alone" not in found.bad_readings("other_sensor.low")


def test_the_sensor_follows_its_line() -> None:
    """0.25 V at 10 kPa and 4.75 V at 115 kPa of 5 V (from memory): 0.25 V + 4.5 V x (p - 10) / 105."""
    found = shown("pressure-3wire")
    for pressure, name in ((100.0, "standing"), (50.0, "pumped"), (35.0, "idle")):
        assert found.readings[f"signal_{name}"][0] == pytest.approx(0.25 + 4.5 * (pressure - 10) / 105, abs=0.03)


def test_a_signal_that_is_open_reads_high_and_a_supply_that_is_open_reads_low() -> None:
    found = shown("pressure-3wire")
    for fault, code in (
        ("signal.open", "code_high"),
        ("low_reference.open", "code_high"),
        ("reference.open", "code_low"),
    ):
        assert code in found.bad_behaviours(fault, "code")


def test_the_driver_tells_open_from_grounded_from_held_up() -> None:
    expected = {
        "heater.open": ("set", "not_set", "not_set"),
        "fuse.blown": ("set", "not_set", "not_set"),
        "control.open": ("set", "not_set", "not_set"),
        "driver.stuck_on": ("low_instead", "set", "not_set"),
        "driver.stuck_off": ("not_set", "not_set", "set"),
    }
    found = shown("heated-thermostat")
    codes = ("code_open", "code_low", "code_high")
    seen = {fault: tuple(found.outcomes[c][found.of(fault)[0]] for c in codes) for fault in expected}
    assert seen == expected


def test_the_idle_driver_biases_its_open_pin_to_half_of_its_reference() -> None:
    """By hand: 15 kilohm up, 15 kilohm down, 5 V."""
    assert shown("heated-thermostat").readings["control_bias"][0] == pytest.approx(2.5, abs=0.02)


def test_the_heater_current_follows_from_its_resistance() -> None:
    """By hand: 12.5 V over 13.5 ohm, 0.25 ohm of the driver and about a tenth of wires, fuse and battery."""
    assert shown("heated-thermostat").readings["heater_current"][0] == pytest.approx(12.5 / 13.87, rel=0.01)


def test_a_grounded_control_wire_heats_all_the_time() -> None:
    found = shown_at("heated-thermostat", "control_ground.short", 0.5)
    assert found.outcomes["temperature"][1] == "cool"
    assert not found.good["idle_current"][1] and not found.good["control_short"][1]
    assert found.good["heater_ohms"][1]


def test_the_position_sensor_cannot_be_blamed_for_a_dead_heater() -> None:
    found = shown("heated-thermostat")
    heater_side = [
        f for f in faults_of("heated-thermostat") if fnmatchcase(f, "heater.*") or f.startswith(("fuse.", "feed."))
    ]
    for fault in heater_side:
        assert not found.bad_readings(fault) & {"position_cold", "position_warm", "reference_volts", "track_ohms"}
