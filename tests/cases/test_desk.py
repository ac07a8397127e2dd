"""The rules of the record: what is allowed when, and that nothing else gets stored."""

from collections.abc import Callable
from typing import Any

import pytest

from cases.lamps import C1, C2, TEXT, a_desk, harness, lamp_chosen, lamp_opened, reading, seen
from proveout.cases.case import replay
from proveout.cases.desk import Desk
from proveout.cases.events import (
    AccessDone,
    AdviceShown,
    CannotDo,
    Closed,
    Correction,
    Event,
    FindingAccepted,
    Note,
    RepairNoted,
    RepairProven,
    SetupDone,
    VehicleNoted,
)
from proveout.cases.memory_store import MemoryStore
from proveout.cases.twins import listing_twin
from proveout.diagnosis.evidence import ReadingTaken, RepairDone
from proveout.errors import BlockedError, InputError

FIXED = RepairProven(suspect="w_feed", behaviour="light", before="dim", after="bright", cured=True)
FAILED = RepairProven(suspect="w_feed", behaviour="light", before="dim", after="dim", cured=False)
REPAIR = RepairNoted(suspect="w_feed", minutes=30, parts=5)


def _refused(desk: Desk, case: int, event: Event, error: type[Exception], says: str) -> None:
    before = desk.events(case)
    with pytest.raises(error, match=says):
        desk.record(case, event)
    assert desk.events(case) == before


def test_no_probing_before_the_harness_was_checked() -> None:
    desk, case = a_desk()
    says = r"no probing at C1 before its colours.*proveout harness C1 1=RD/WH 2=BN"
    _refused(desk, case, reading("lamp_volts", "12.1"), BlockedError, says)
    desk.record(case, C1)
    desk.record(case, reading("lamp_volts", "12.1"))


def test_probing_away_from_connectors_needs_no_harness_check() -> None:
    desk, case = a_desk(reading("battery_volts", "12.5"))
    assert len(desk.state(case).evidence) == 2


def test_a_harness_half_looked_at_still_blocks() -> None:
    desk, case = a_desk(harness("C1", _1="RD/WH"))
    _refused(desk, case, reading("ground_drop", "0.1"), BlockedError, "before its colours")
    desk.record(case, harness("C1", _2="BN"))
    desk.record(case, reading("ground_drop", "0.1"))


def test_a_mismatch_blocks_until_the_sheet_is_put_right() -> None:
    desk, case = a_desk(harness("C1", _1="GN", _2="BN"))
    says = r"cavity 1: the sheet says RD/WH, the harness has GN.*--set wire.w_feed.colour=GN"
    _refused(desk, case, reading("lamp_volts", "12.1"), BlockedError, says)
    assert desk.state(case).shop.blocked == {"C1"}
    desk.record(case, lamp_chosen(TEXT.replace("[RD, WH]", "[GN]")))
    desk.record(case, reading("lamp_volts", "12.1"))
    assert desk.state(case).shop.blocked == frozenset()


def test_looking_again_lifts_a_mismatch_too() -> None:
    desk, case = a_desk(harness("C1", _1="GN", _2="BN"), C1)
    desk.record(case, reading("lamp_volts", "12.1"))


def test_exchanged_wires_are_named() -> None:
    desk, case = a_desk(harness("C1", _1="BN", _2="RD/WH"))
    _refused(desk, case, reading("lamp_volts", "0.1"), BlockedError, "exchanged with cavity 2")


@pytest.mark.parametrize(
    ("event", "says"),
    [
        (harness("C3", _1="RD"), r"no connector 'C3'"),
        (harness("C1", _1="RX"), r"unknown colour 'rx'"),
        (AccessDone(name="gard"), r"no access operation 'gard'.*did you mean 'guard'"),
        (SetupDone(name="lamp_of"), r"no set-up 'lamp_of'.*did you mean"),
        (reading("lamp_volts", "1").model_copy(update={"measurement": "lamp_volt"}), r"did you mean 'lamp_volts'"),
        (seen("look_c1", "blue"), r"no outcome of 'look_c1' 'blue'.*clean, green"),
        (seen("look_c9", "clean"), r"no behaviour 'look_c9'"),
        (CannotDo(name="lok_c1", because="x"), r"did you mean 'look_c1'"),
        (FindingAccepted(suspect="w_fed", probability=0.5), r"no suspect 'w_fed'.*did you mean 'w_feed'"),
        (RepairNoted(suspect="w_fed"), r"did you mean 'w_feed'"),
        (RepairNoted(suspect="no-fault-now"), r"nothing that can be repaired.*close --because"),
        (RepairNoted(suspect="none-of-these"), r"nothing that can be repaired.*proveout sheet"),
    ],
)
def test_a_name_that_the_circuit_does_not_have_is_answered_with_the_nearest(event: Event, says: str) -> None:
    desk, case = a_desk()
    _refused(desk, case, event, InputError, says)


def test_a_repair_is_proven_before_the_next_one() -> None:
    desk, case = a_desk(REPAIR)
    assert desk.state(case).phase == "repaired"
    _refused(desk, case, RepairNoted(suspect="lamp"), BlockedError, "'w_feed' has not been proven yet")
    _refused(desk, case, Closed(proven=True), BlockedError, "not been proven")
    desk.record(case, FIXED)
    assert desk.state(case).phase == "proven"


def test_there_is_nothing_to_prove_before_a_repair() -> None:
    desk, case = a_desk()
    _refused(desk, case, FIXED, BlockedError, "no repair to prove")


def test_a_proof_is_of_the_repair_that_was_done_and_says_what_its_outcome_says() -> None:
    desk, case = a_desk(REPAIR)
    _refused(desk, case, FIXED.model_copy(update={"suspect": "lamp"}), InputError, "that of 'w_feed'")
    _refused(desk, case, FAILED.model_copy(update={"cured": True}), InputError, "do not go together")


def test_readings_after_a_repair_show_the_repair_and_not_the_fault() -> None:
    desk, case = a_desk(C1, reading("lamp_volts", "6.9"), REPAIR, reading("lamp_volts", "12.1"), FIXED)
    state = desk.state(case)
    assert [e.reading.value for e in state.evidence if isinstance(e, ReadingTaken)] == [6.9]
    assert state.evidence[-1] == RepairDone("w_feed", cured=True)
    assert len(state.entries[-2].held) == 1


def test_readings_after_a_repair_that_did_not_help_are_evidence_after_all() -> None:
    desk, case = a_desk(C1, REPAIR, reading("lamp_volts", "7.1"), FAILED)
    state = desk.state(case)
    assert state.phase == "testing"
    assert [type(e) for e in state.evidence[-2:]] == [ReadingTaken, RepairDone]
    assert state.evidence[-1] == RepairDone("w_feed", cured=False)


def test_a_repair_costs_what_it_took_and_its_planned_time_where_nothing_was_noted() -> None:
    desk, case = a_desk(REPAIR, FIXED, RepairNoted(suspect="lamp"))
    spent = [(entry.minutes, entry.parts) for entry in desk.state(case).entries]
    # Proof: 0.5 minutes and 0.3 for the set-up; the lamp: 10 minutes, the guard is off already.
    assert spent[2:] == [(30, 5), (pytest.approx(0.8), 0), (10, 40)]
    assert desk.state(case).labour == pytest.approx(40.8)


def test_a_case_is_closed_proven_or_with_a_reason() -> None:
    desk, case = a_desk()
    _refused(desk, case, Closed(proven=True), BlockedError, "no repair is proven")
    _refused(desk, case, Closed(proven=False), BlockedError, "--because")
    desk.record(case, Closed(proven=False, because="customer takes it home"))
    assert desk.state(case).phase == "closed"


def test_nothing_is_added_to_a_closed_case_until_the_closing_is_taken_back() -> None:
    desk, case = a_desk(REPAIR, FIXED, Closed(proven=True))
    _refused(desk, case, Note(text="late"), BlockedError, "closed.*proveout undo")
    desk.record(case, Correction(corrects=desk.last_undoable(case).number))
    desk.record(case, Note(text="not late"))


def test_undo_takes_back_the_last_fact_and_skips_advice_and_corrections() -> None:
    advice = AdviceShown(step_kind="look", step="look_c1", title="Look", cost_to_end=1.0, sha256="0" * 64)
    desk, case = a_desk(C2, Note(text="a"), advice)
    numbers = []
    for _ in range(2):
        numbers.append(desk.last_undoable(case).number)
        desk.record(case, Correction(corrects=numbers[-1]))
    assert numbers == [4, 3]
    with pytest.raises(InputError, match="nothing to take back"):
        desk.last_undoable(case)


def test_taking_back_a_harness_check_says_which_readings_no_longer_count() -> None:
    desk, case = a_desk(C1, reading("lamp_volts", "12.1"))
    done = desk.record(case, Correction(corrects=3))
    assert [entry.number for entry in done.no_longer] == [4]
    assert "before its colours" in done.no_longer[0].problem


@pytest.mark.parametrize(
    ("number", "changes", "says"),
    [(9, {}, "no entry 9 in this case"), (3, {"colour": "RD"}, "has no 'colour'; it has")],
)
def test_a_replacement_names_an_event_and_its_fields(number: int, changes: dict[str, Any], says: str) -> None:
    desk, case = a_desk(C1)
    with pytest.raises(InputError, match=says):
        desk.replacement(case, number, changes)


@pytest.mark.parametrize("call", [Desk.events, Desk.state])
def test_an_unknown_case_is_an_input_error(call: Callable[[Desk, int], object]) -> None:
    with pytest.raises(InputError, match="no case 5"):
        call(Desk(MemoryStore()), 5)


def test_an_empty_store_has_no_current_case() -> None:
    with pytest.raises(InputError, match="no case yet: open one with 'proveout open'"):
        Desk(MemoryStore()).current()


def test_the_meter_of_a_case_can_be_its_own() -> None:
    desk, case = a_desk(opened=lamp_opened(meter="name: x\n"))
    assert desk.state(case).opened.meter == "name: x\n"


def test_a_case_read_on_event_by_event_is_the_case_read_at_once() -> None:
    """Whatever comes: facts, what does not count any more, corrections, another circuit, another window's entries."""
    desk, case = a_desk(C1)
    for event in (
        reading("lamp_volts", "11.2"),
        Note(text="customer waits"),
        VehicleNoted(here=False, because="taken home"),
        Correction(corrects=3),
        C1,
        reading("lamp_volts", "11.3"),
        lamp_chosen(TEXT.replace("Work lamp", "Lamp of the bench")),
        reading("lamp_volts", "11.4"),
    ):
        desk.record(case, event)
        assert desk.state(case) == replay(desk.events(case))
    other = Desk(desk.store)
    other.record(case, Note(text="from another window"))
    assert desk.state(case) == replay(desk.events(case)) == other.state(case)


def test_a_vehicle_is_waited_for_until_it_is_here_or_worked_on() -> None:
    desk, case = a_desk(C1)
    for back in (VehicleNoted(here=True), reading("lamp_volts", "11.2")):
        waits = desk.record(case, VehicleNoted(here=False, because="comes on Thursday")).after.waiting
        assert waits is not None
        assert waits.because == "comes on Thursday"
        assert listing_twin(case, desk.events(case))["status"] == "waiting"
        assert desk.record(case, back).after.waiting is None
        assert listing_twin(case, desk.events(case))["status"] == "open"
    desk.record(case, VehicleNoted(here=False))
    desk.record(case, Closed(proven=False, because="sold"))
    assert listing_twin(case, desk.events(case))["status"] == "closed"
