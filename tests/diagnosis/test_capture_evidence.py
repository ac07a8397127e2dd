"""Recordings move the belief as readings do; the levels in them come from ngspice, run on the faulted circuit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from captures.synthetic import RELUCTANCE, missing_teeth, record, steady
from diagnosis.ready import model
from diagnosis.recorded import levels_of_phases, recorded
from proveout.captures.analyse import analyse
from proveout.captures.capture import Capture, Channel, Clock, Origin
from proveout.captures.findings import CaptureFindings, Finding, Mark
from proveout.circuits import ready_circuit
from proveout.diagnosis import Belief
from proveout.diagnosis.capture_evidence import capture_evidence, channel_for, levels_read
from proveout.diagnosis.evidence import ReadingTaken, SignalWatched
from proveout.diagnosis.likelihood import reading_variance
from proveout.diagnosis.results import ruled_out
from proveout.diagnosis.trace_levels import trace_levels
from proveout.errors import InputError
from proveout.instruments import Function, Reading
from reference import Fault

OPEN = 1.0e8


def after(name: str, measurement: str, *faults: Fault, gone: tuple[tuple[float, float], ...] = ()) -> Belief:
    """Return the belief after one recording and nothing else."""
    circuit, findings = recorded(name, measurement, *faults, gone=gone)
    belief = Belief.start(model(name))
    for evidence in capture_evidence(circuit, measurement, "A", findings):
        belief = belief.after(evidence)
    return belief


def chance(belief: Belief, *suspects: str) -> float:
    return sum(belief.probability(suspect) for suspect in suspects)


def test_levels_are_those_of_the_simulated_circuit() -> None:
    circuit, findings = recorded("crank-hall-5v", "signal_low_at_ce")
    phases = levels_of_phases(circuit, "signal_low_at_ce", ())
    low, high = min(phases), max(phases)
    levels = trace_levels(findings, "A")
    assert levels.low.value == pytest.approx(low, abs=0.01)
    assert levels.high.value == pytest.approx(high, abs=0.01)
    assert levels.swing.value == pytest.approx(high - low, abs=0.02)
    assert 0.02 < levels.low.uncertainty < 0.05
    assert levels.moves


def test_a_sound_signal_speaks_for_no_fault_now() -> None:
    belief = after("crank-hall-5v", "signal_low_at_ce")
    assert belief.suspects()[0].suspect == "no-fault-now"


@pytest.mark.parametrize("part", ["t_ce_low", "t_cs_low"])
def test_a_low_level_that_is_too_high_is_resistance_in_the_return(part: str) -> None:
    belief = after("crank-hall-5v", "signal_low_at_ce", (part, "resistive", 60.0))
    likely = [ref for ref, _, p in belief.fault_probabilities() if p > 0.03]
    assert f"{part}.resistive" in likely
    assert chance(belief, "no-fault-now") < 0.01
    # Of the terminals only those of the return can lift the low level; the signal's cannot, nor the reference's.
    assert not {"t_ce_sig.resistive", "t_cs_ref.resistive", "w_sig.open"} & set(likely)


def test_no_edges_while_cranking_at_the_bias_is_a_sensor_that_does_not_pull() -> None:
    belief = after("crank-hall-5v", "signal_low_at_ce", ("sensor", "stuck_off", None))
    assert belief.suspects()[0].suspect == "crank_sensor"
    assert chance(belief, "no-fault-now", "ecm") < 0.05


def test_no_edges_at_zero_at_the_sensor_is_the_signal_wire_and_not_the_sensor() -> None:
    belief = after("crank-hall-5v", "signal_swing_at_cs", ("w_sig", "open", OPEN))
    assert "w_sig" in [o.suspect for o in belief.suspects()[:2]]
    assert chance(belief, "crank_sensor", "cs_terminal", "no-fault-now") < 0.05


def test_dropouts_speak_for_faults_that_come_and_go() -> None:
    broken = after("crank-hall-5v", "signal_low_at_ce", ("t_ce_sig", "open", OPEN), gone=((0.5, 0.6), (1.2, 1.3)))
    sound = after("crank-hall-5v", "signal_low_at_ce")
    assert chance(broken, "ce_terminal") > 1.4 * chance(sound, "ce_terminal")
    assert chance(broken, "no-fault-now") < 0.3 * chance(sound, "no-fault-now")
    h = broken.model.hypotheses
    comes = broken.weight[(h.presence > 0) & (h.presence < 1)].sum()
    assert comes > 0.6


def test_long_dropouts_count_even_where_they_hide_the_wheel() -> None:
    broken = after("crank-hall-5v", "signal_low_at_ce", ("t_ce_sig", "open", OPEN), gone=((0.5, 0.56), (1.2, 1.25)))
    assert broken.suspects()[0].suspect == "ce_terminal"


@pytest.mark.parametrize(("part", "suspect", "never"), [("t_ce_sig", "ce_terminal", "cs_terminal")])
def test_where_the_signal_stands_while_it_is_lost_tells_which_fault_it_is(part: str, suspect: str, never: str) -> None:
    """Behind an open signal terminal the lead hangs at nothing; a sensor without supply leaves it at the bias."""
    lost = after("crank-hall-5v", "signal_low_at_ce", (part, "open", OPEN), gone=((0.5, 0.53), (1.2, 1.22)))
    (watched,) = (e for e in lost.evidence if isinstance(e, SignalWatched))
    assert watched.lost >= 2
    assert watched.level is not None
    assert watched.level.value == pytest.approx(0.0, abs=0.1)
    without = lost.model
    belief = Belief.start(without).after(SignalWatched("signal_low_at_ce", watched.lost))
    assert lost.probability(suspect) > 2 * belief.probability(suspect)
    assert lost.probability(never) < 0.3 * belief.probability(never)


@pytest.mark.parametrize("rpm", [60, 200])
def test_a_weak_coil_signal_is_the_air_gap_at_whatever_speed_it_was_turned(rpm: float) -> None:
    """A ring of 48 teeth: its swing at the unit at one turn a second comes from ngspice, the wave from the ring."""
    circuit, wheel = ready_circuit("wheel-vr"), missing_teeth(48, 0)
    beliefs = []
    for faults in ((), (("gap", "weak", 0.12),)):
        phases = levels_of_phases(circuit, "signal_swing_mated", faults)
        swing = max(phases) - min(phases)
        sensor = replace(RELUCTANCE, high=0.5 * swing * 10.0)
        made = record(wheel, steady(rpm, 6), sensor, np.random.default_rng(1), rate=20_000.0)
        bias = phases[1]
        volts = made.samples + bias + np.random.default_rng(2).normal(0, 0.003, made.samples.size)
        channel = Channel("A", "V", volts.astype(np.float32), Clock(rate=20_000.0))
        findings = analyse(Capture((channel,), Origin("made.csv", "csv", 0, "0" * 64)))
        belief = Belief.start(model("wheel-vr"))
        for evidence in capture_evidence(circuit, "signal_swing_mated", "A", findings):
            belief = belief.after(evidence)
        beliefs.append(belief)
    sound, weak = beliefs
    assert sound.probability("mount") < 0.1
    assert weak.suspects()[0].suspect == "mount"
    assert weak.probability("mount") > 0.5
    assert weak.probability("no-fault-now") < 0.02


def test_a_capture_counts_as_the_reading_that_it_stands_for() -> None:
    """Were the recorder as good as the meter, its level would do to the belief what the meter's reading does."""
    start = Belief.start(model("crank-hall-5v"))
    plain = Reading(0.53, False, "0.53 V", "V", 0.01)
    own = float(np.sqrt(reading_variance(start.model.meter, Function.SCOPE_LOW, 0.53, 0.01) - 5.0e-3**2))
    same = Reading(0.53, False, "0.53 V", "V", uncertainty=own)
    one, other = (start.after(ReadingTaken("signal_low_at_ce", r)) for r in (plain, same))
    assert other.by_suspect() == pytest.approx(one.by_suspect(), abs=1e-9)


def test_a_finer_recorder_tells_more() -> None:
    start = Belief.start(model("crank-hall-5v"))
    rough, fine = (
        start.after(ReadingTaken("signal_low_at_ce", Reading(0.30, False, "", "V", uncertainty=u)))
        for u in (0.2, 0.005)
    )
    assert fine.probability("no-fault-now") < 0.2 * rough.probability("no-fault-now")


def test_two_of_the_three_levels_are_taken_and_the_named_one_always() -> None:
    circuit, findings = recorded("crank-hall-5v", "signal_low_at_ce")
    levels = trace_levels(findings, "A")
    assert list(levels_read(circuit, "signal_swing_at_ce", levels)) == ["signal_swing_at_ce", "signal_low_at_ce"]
    assert list(levels_read(circuit, "signal_low_at_ce", levels)) == ["signal_low_at_ce", "signal_high_at_ce"]
    assert list(levels_read(circuit, "reference_at_ce", levels)) == ["reference_at_ce"]


def test_watching_without_a_loss_speaks_against_what_comes_and_goes() -> None:
    start = Belief.start(model("crank-hall-5v"))
    watched = start.after(SignalWatched("signal_low_at_ce", 0))
    h = start.model.hypotheses
    comes = (h.presence > 0) & (h.presence < 1)
    assert watched.weight[comes].sum() < 0.7 * start.weight[comes].sum()


def units(*given: tuple[str, str]) -> dict[str, str]:
    return dict(given)


def test_the_channel_is_the_one_in_the_right_unit_or_must_be_named() -> None:
    circuit = ready_circuit("crank-hall-5v")
    assert channel_for(circuit, "signal_low_at_ce", units(("A", "V"), ("B", "A"))) == "A"
    assert channel_for(circuit, "sensor_current_at_ce", units(("A", "V"), ("B", "A"))) == "B"
    assert channel_for(circuit, "signal_low_at_ce", units(("A", "V"), ("B", "V")), "B") == "B"
    with pytest.raises(InputError, match=r"2 channels in V.*--channel"):
        channel_for(circuit, "signal_low_at_ce", units(("A", "V"), ("B", "V")))
    with pytest.raises(InputError, match=r"no channel in A"):
        channel_for(circuit, "sensor_current_at_ce", units(("A", "V")))
    with pytest.raises(InputError, match=r"no channel 'C'; it has 'A'"):
        channel_for(circuit, "signal_low_at_ce", units(("A", "V")), "C")
    with pytest.raises(InputError, match=r"ohms, which no capture answers"):
        channel_for(circuit, "sig_continuity", units(("A", "V")))


def test_a_channel_without_levels_is_refused() -> None:
    findings = CaptureFindings(
        "x.csv", "0" * 64, {}, (Finding("signal", "noise", "A", 0.1, "V"),), (Mark("gap", "A", 0, 1),)
    )
    with pytest.raises(InputError, match="no least value of channel 'A'"):
        trace_levels(findings, "A")
    with pytest.raises(InputError, match="channel 'B'; the capture has 'A'"):
        trace_levels(findings, "B")


def test_resistance_in_a_current_loop_leaves_its_levels_and_a_shunt_path_lifts_them() -> None:
    """A two-wire sensor sets its current whatever a terminal adds; leakage past the sensor adds to both levels."""
    sound = after("wheel-current", "return_low")
    assert sound.suspects()[0].suspect == "no-fault-now"
    leaking = after("wheel-current", "return_low", ("p_to_n", "short", 3000.0))
    assert leaking.probability("no-fault-now") < 0.2 * sound.probability("no-fault-now")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "measurement"), [("crank-hall-5v", "signal_low_at_ce"), ("wheel-current", "return_low")]
)
def test_no_fault_is_ruled_out_by_the_recording_that_it_makes(name: str, measurement: str) -> None:
    """Every fault mode of the circuit in the middle of its severities, recorded from levels by ngspice."""
    compiled = model(name)
    start, lost = Belief.start(compiled), []
    for variant in compiled.predictions.variants:
        fault, grid = variant.faults[0], variant.severities[0]
        value = None if fault.mode.forced is not None else float(grid[len(grid) // 2])
        belief = after(name, measurement, (fault.part, fault.mode.name, value))
        place = compiled.suspect_index[fault.suspect]
        if compiled.suspects[place].title in ruled_out(compiled, start.by_suspect(), belief.by_suspect()):
            lost.append(f"{fault.reference}: {belief.probability(fault.suspect):.4f}")
    assert lost == []
