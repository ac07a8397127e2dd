"""What is seen rather than measured, as trade statements on the crank circuit (common practice)."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis.ready import model
from proveout.diagnosis import Belief
from proveout.diagnosis.likelihood import reading_variance
from proveout.diagnosis.predict import Variant
from proveout.diagnosis.tables import behaviour_table, look_table, trial_cures

CRANK = "crank-hall-5v"


def variant(reference: str) -> Variant:
    return next(v for v in model(CRANK).predictions.variants if v.faults[0].reference == reference)


def likeliest(behaviour: str, row: int) -> str:
    known = model(CRANK)
    outcomes = list(known.circuit.behaviours[behaviour].outcomes)
    return outcomes[int(known.behaviours[behaviour][row].argmax())]


def test_a_sound_engine_starts_at_once_shows_its_speed_and_sets_no_code() -> None:
    assert likeliest("start", 0) == "normal"
    assert likeliest("engine_speed", 0) == "shown"
    assert likeliest("p0335", 0) == "clear"


@pytest.mark.parametrize(
    "fault", ["sensor.stuck_off", "sensor.stuck_on", "w_sig.open", "t_cs_sig.open", "air_gap.stuck_open"]
)
def test_no_toggling_while_cranking_is_no_engine_speed_and_p0335_and_a_late_start_on_the_cam(fault: str) -> None:
    row = variant(fault).first
    assert likeliest("engine_speed", row) == "zero"
    assert likeliest("p0335", row) == "set"
    assert likeliest("start", row) == "late"


def test_a_dead_reference_stops_crank_and_cam_so_there_is_no_start_and_nothing_to_compare() -> None:
    row = variant("reference.dead").first
    assert likeliest("start", row) == "none"
    assert likeliest("p0335", row) == "absent"
    assert likeliest("p0641", row) == "set"


def test_a_corroded_low_reference_fails_from_some_resistance_on() -> None:
    known, low = model(CRANK), variant("w_low.resistive")
    starts = known.behaviours["start"][low.rows, 0]
    assert starts[0] > 0.9
    assert starts[-1] < 0.1
    assert (np.diff(starts) < 0.02).all()


@pytest.mark.parametrize("name", ["start", "engine_speed", "p0335", "p0641"])
def test_outcomes_add_up_and_slip_as_often_as_the_file_says(name: str) -> None:
    known = model(CRANK)
    behaviour = known.circuit.behaviours[name]
    table = behaviour_table(known.predictions, known.circuit, behaviour)
    assert table.sum(axis=1) == pytest.approx(1.0)
    assert table.min() >= behaviour.slip / len(behaviour.outcomes) - 1e-12


def test_a_look_and_a_trial_are_as_the_file_tabulates_them() -> None:
    known = model(CRANK)
    h, look = known.hypotheses, known.circuit.looks["look_at_cs"]
    table = look_table(look, known.references, h)
    cures = trial_cures(known.circuit.trials["reseat_cs"], known.references, h)
    for k in range(0, len(h), 17):
        reference = known.references[h.variant[k]] if h.variant[k] >= 0 else ""
        terminal = reference.startswith("t_cs_") and reference.endswith("open")
        assert cures[k] == (0.35 if terminal else 0.55 if reference.startswith("t_cs_") else 0.0)
        if not reference.startswith("t_cs_"):
            assert table[k].tolist() == [look.otherwise[o] for o in look.outcomes]
    assert table.sum(axis=1) == pytest.approx(1.0)


def test_a_spread_terminal_passes_an_ohms_test_on_an_unplugged_connector() -> None:
    known, spread = model(CRANK), variant("t_cs_low.open")
    p, circuit = known.predictions, known.circuit
    unplugged = [
        name
        for name, m in circuit.measurements.items()
        if m.function == "ohms" and "CS" in circuit.setups[m.setup].unplugged
    ]
    assert unplugged
    for name in unplugged:
        k = known.column[name]
        assert p.mean[spread.first, k] == pytest.approx(p.mean[0, k], rel=1e-6), name


def test_it_fails_under_load_where_the_connector_is_mated() -> None:
    known, spread = model(CRANK), variant("t_cs_low.open")
    k = known.column["signal_swing_at_ce"]
    assert known.predictions.mean[0, k] > 4.0
    assert known.predictions.mean[spread.first, k] < 0.5


def test_no_voltage_tells_a_spread_signal_terminal_at_the_sensor_from_a_dead_sensor() -> None:
    # What settles it is to look, to reseat, or a known-good sensor: common practice.
    known = model(CRANK)
    spread, dead = variant("t_cs_sig.open").first, variant("sensor.stuck_off").first
    for name, k in known.column.items():
        if not known.circuit.measurements[name].function.startswith(("volts", "scope")):
            continue
        one, other = known.predictions.mean[[spread, dead], k]
        # A ghost voltage hangs on insulation, which nobody knows better than to an order of magnitude.
        own = np.sum(known.predictions.slopes[dead, k] ** 2) + known.predictions.rough[dead, k]
        error = reading_variance(known.meter, known.function(name), one, 0.0)
        assert abs(one - other) < 3.0 * np.sqrt(error + own), name
    start = Belief.start(known)
    rows = known.hypotheses.row
    h = [int(np.flatnonzero(rows == r)[0]) for r in (spread, dead)]
    looked = known.looks["look_at_cs"][h, 0]
    tried = start.trial_chances("tool_at_sensor")[h, 0]
    reseated = start.trial_chances("reseat_cs")[h, 0]
    assert looked[1] > 5.0 * looked[0]
    assert tried[1] > 0.9 > 0.1 > tried[0]
    assert reseated[0] > 0.3 > 0.05 > reseated[1]
