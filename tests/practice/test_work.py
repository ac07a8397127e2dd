"""Working on a practice vehicle follows the rules and the clock of a real case."""

from __future__ import annotations

import pytest

from practice.compiled import book
from proveout.errors import BlockedError, InputError
from proveout.practice import Task, Work


def _work(circuit: str = "coolant-ntc", seed: int = 1) -> Work:
    practices = book()
    return practices.work(practices.start(Task(circuit, "easy", seed)))


def test_the_vehicle_comes_in_with_a_complaint_and_says_that_it_is_invented() -> None:
    state = _work().state
    assert state.opened.complaint
    assert state.opened.invented
    assert state.minutes == 0.0


def test_no_probe_goes_in_before_the_colours_were_compared() -> None:
    work = _work()
    with pytest.raises(BlockedError, match="before its colours were compared"):
        work.do("signal_cold_at_ct")
    work.compare("CT")
    assert work.do("signal_cold_at_ct").stored.event.kind == "reading-taken"


def test_dismantling_costs_minutes_once() -> None:
    work = _work()
    circuit = work.state.circuit
    work.compare("CT")
    first = work.do("signal_cold_at_ct").after.minutes
    step = circuit.measurements["signal_cold_at_ct"].minutes
    opened = sum(circuit.access[name].minutes for name in work.state.access)
    assert opened > 0
    assert work.do("signal_cold_at_ct").after.minutes == pytest.approx(first + step)


def test_a_repair_must_be_proven_before_the_next_and_a_wrong_one_is_not_cured() -> None:
    work = _work()
    wrong = "coolant_sensor" if work.vehicle.suspect.name != "coolant_sensor" else "w_sig"
    work.repair(wrong)
    with pytest.raises(BlockedError, match="has not been proven"):
        work.repair(work.vehicle.suspect.name)
    assert not work.prove().after.proofs[-1].cured
    work.repair(work.vehicle.suspect.name)
    assert work.prove().after.phase == "proven"
    assert work.hand_over().after.phase == "closed"


def test_the_right_repair_cures_whatever_the_seed() -> None:
    for seed in range(8):
        work = _work("fuel-pump", seed)
        work.repair(work.vehicle.suspect.name)
        assert work.prove().after.phase == "proven"


def test_nothing_is_done_to_a_vehicle_that_was_handed_over() -> None:
    work = _work()
    with pytest.raises(InputError, match="say why"):
        work.hand_over()
    work.hand_over("out of ideas")
    with pytest.raises(BlockedError, match="closed"):
        work.do(work.state.circuit.proof)


def test_a_trial_that_helps_makes_the_fault_quiet_and_does_not_repair_it() -> None:
    for seed in range(60):
        work = _work("crank-hall-5v", seed)
        trials = [t for t in work.state.circuit.trials if work.do(t).stored.event.outcome == "cured"]  # type: ignore[attr-defined]
        if trials:
            proof = work.state.circuit.proof
            good = work.state.circuit.behaviours[proof].outcomes
            seen = [work.do(proof).stored.event.outcome for _ in range(5)]  # type: ignore[attr-defined]
            assert sum(good[name].good for name in seen) >= 4
            work.hand_over("it is gone")
            return
    pytest.fail("no trial helped in 60 vehicles")
