"""Practices are kept: a restart loses nothing, the fault is told only at the end, and both paths stand on one clock."""

from __future__ import annotations

from pathlib import Path

import pytest

from practice.compiled import book
from proveout.cases.desk import Desk
from proveout.cases.events import CircuitChosen, encode
from proveout.cases.sqlite_store import SqliteStore
from proveout.errors import BlockedError
from proveout.practice import PracticeBook, Prices, Task, side_by_side


def _on_disk(path: Path) -> PracticeBook:
    return book(Desk(SqliteStore(path)))


def test_a_restart_loses_nothing(tmp_path: Path) -> None:
    first = _on_disk(tmp_path / "practice.db")
    number = first.start(Task("coolant-ntc", "medium", 11))
    work = first.work(number)
    work.compare("CT")
    shown = work.do("signal_cold_at_ct").stored
    again = _on_disk(tmp_path / "practice.db")
    assert again.task(number) == Task("coolant-ntc", "medium", 11)
    assert again.state(number).minutes == first.state(number).minutes
    assert [entry.event for entry in again.state(number).entries][-1] == shown.event
    # The next answers are those that the vehicle would have given without the restart.
    twin = book()
    other = twin.work(twin.start(Task("coolant-ntc", "medium", 11)))
    other.compare("CT")
    other.do("signal_cold_at_ct")
    went_on = other.do("signal_cold_at_ct").stored.event
    assert again.work(number).do("signal_cold_at_ct").stored.event == went_on


def test_a_class_with_one_code_gets_the_same_answers() -> None:
    shown = []
    for order in (1, -1):
        practices = book()
        work = practices.work(practices.start(Task("coolant-ntc", "hard", 77)))
        for connector in work.state.circuit.connectors:
            work.compare(connector)
        names = [*work.state.circuit.measurements][::order]
        shown.append({name: work.do(name).stored.event.shown for name in names})  # type: ignore[attr-defined]
    assert shown[0] == shown[1]


def test_the_fault_is_not_told_and_not_stored_before_the_vehicle_is_handed_over(tmp_path: Path) -> None:
    practices = _on_disk(tmp_path / "practice.db")
    number = practices.start(Task("crank-hall-5v", "medium", 3))
    work = practices.work(number)
    for connector in work.state.circuit.connectors:
        work.compare(connector)
    work.do(next(iter(work.state.circuit.behaviours)))
    with pytest.raises(BlockedError, match="handed over"):
        practices.ending(number)
    kept = [e.event for e in SqliteStore(tmp_path / "practice.db").events(number)]
    # The circuit's own text names every part that it has, at fault or not.
    text = "\n".join(encode(event) for event in kept if not isinstance(event, CircuitChosen))
    fault = work.vehicle.fault
    for secret in (fault.reference, fault.title, fault.part, work.vehicle.suspect.name, work.vehicle.suspect.title):
        assert secret not in text


def test_at_the_end_the_truth_and_both_paths_are_told() -> None:
    practices = book()
    number = practices.start(Task("coolant-ntc", "easy", 1), Prices(96.0, 120.0, "USD"))
    work = practices.work(number)
    wrong = "w_sig" if work.vehicle.suspect.name != "w_sig" else "coolant_sensor"
    work.repair(wrong)
    work.prove()
    work.hand_over("no idea")
    ending = practices.ending(number)
    assert ending.truth.suspect == work.vehicle.suspect.name
    assert not ending.own.found
    assert ending.own.wrong == 1
    assert ending.own.comeback == 120.0
    assert ending.planner.found
    assert ending.planner.comeback == 0.0
    assert ending.own.minutes == pytest.approx(work.state.minutes)
    assert ending.own.money == pytest.approx(work.state.minutes * 96.0 / 60.0 + work.state.parts)


def test_the_planner_follows_the_rules_too_and_ends_with_the_probability_of_the_truth() -> None:
    practices = book()
    number = practices.start(Task("coolant-ntc", "easy", 4))
    practices.work(number).hand_over("to see the planner")
    planner = practices.ending(number).planner
    assert planner.found
    assert planner.legs[-1].chance > 0.99
    assert [leg.until for leg in planner.legs] == sorted(leg.until for leg in planner.legs)
    assert sum(leg.minutes for leg in planner.legs) == pytest.approx(planner.minutes)


def test_both_paths_stand_on_one_clock() -> None:
    practices = book()
    number = practices.start(Task("coolant-ntc", "easy", 4))
    work = practices.work(number)
    work.compare("CT")
    work.do("signal_cold_at_ct")
    work.hand_over("enough")
    ending = practices.ending(number)
    rows = side_by_side(ending.own.legs, ending.planner.legs)
    assert [row[0] for row in rows] == sorted(row[0] for row in rows)
    assert [row[1] for row in rows if row[1]] == list(ending.own.legs)
    assert [row[2] for row in rows if row[2]] == list(ending.planner.legs)
    assert all((own is None) != (planner is None) for _, own, planner in rows)
