"""What can be done to a practice vehicle is everything that the circuit's file has, priced from here."""

from __future__ import annotations

import json

import pytest

from practice.compiled import book
from proveout.practice import Task, choices_of, practice_twin


def test_everything_of_the_circuit_can_be_chosen() -> None:
    practices = book()
    state = practices.state(practices.start(Task("coolant-ntc", "easy", 1)))
    circuit, found = state.circuit, choices_of(state)
    named = {(choice.kind, choice.name) for choice in found}
    assert {("measure", name) for name in circuit.measurements} <= named
    assert {("look", name) for name in circuit.looks} <= named
    assert {("watch", name) for name in circuit.behaviours} <= named
    assert {("try", name) for name in circuit.trials} <= named
    assert {("compare", name) for name in circuit.connectors} <= named


def test_a_choice_costs_what_the_record_then_notes() -> None:
    practices = book()
    work = practices.work(practices.start(Task("coolant-ntc", "easy", 1)))
    for kind, name in (("compare", "CT"), ("measure", "signal_cold_at_ct"), ("measure", "signal_cold_at_ct")):
        told = next(c for c in choices_of(work.state) if (c.kind, c.name) == (kind, name))
        before = work.state.minutes
        done = work.compare(name) if kind == "compare" else work.do(name)
        assert done.after.minutes - before == pytest.approx(told.minutes)
    repair = next(c for c in choices_of(work.state) if c.kind == "repair")
    before = work.state.minutes
    done = work.repair(repair.name)
    assert done.after.minutes - before == pytest.approx(repair.minutes)
    assert done.after.parts == pytest.approx(repair.parts)


def test_a_probe_says_which_connectors_come_first() -> None:
    practices = book()
    work = practices.work(practices.start(Task("coolant-ntc", "easy", 1)))
    assert next(c for c in choices_of(work.state) if c.name == "signal_cold_at_ct").compare_first == ("CT",)
    work.compare("CT")
    assert next(c for c in choices_of(work.state) if c.name == "signal_cold_at_ct").compare_first == ()


def test_the_twin_holds_nothing_of_the_fault_that_every_other_vehicle_of_the_circuit_does_not_hold() -> None:
    """Two vehicles with the same complaint differ in code and seed only, before anything is asked of them."""
    practices = book()
    seen: dict[tuple[str, ...], tuple[str, str]] = {}
    for seed in range(30):
        number = practices.start(Task("coolant-ntc", "medium", seed))
        work = practices.work(number)
        twin = practice_twin(number, practices.task(number), work.state, work.vehicle.model)
        for key in ("number", "code", "seed", "opened_at"):
            del twin[key]
        complaint = (*twin["complaint"], *twin["codes"])
        other = seen.setdefault(complaint, (work.vehicle.suspect.name, json.dumps(twin)))
        assert other[1] == json.dumps(twin)
    assert len(seen) < 30
