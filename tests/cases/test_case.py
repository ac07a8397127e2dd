"""A case is its events: replayed, they give the same state and the same belief."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from cases.lamps import C1, C2, TEXT, a_desk, lamp, lamp_chosen, lamp_model, lamp_opened, reading, seen
from cases.stores import NOON
from proveout.cases.case import replay
from proveout.cases.desk import Desk
from proveout.cases.entry_text import entry_text
from proveout.cases.events import AccessDone, CannotDo, Correction, Note, Opened, OutcomeNoted, SetupDone
from proveout.cases.history import believe, histories
from proveout.cases.memory_store import MemoryStore
from proveout.cases.sqlite_store import SqliteStore
from proveout.circuits import read_circuit
from proveout.diagnosis import compile_model
from proveout.diagnosis.evidence import OutcomeSeen, ReadingTaken
from proveout.errors import CircuitError, InputError, StoreError
from proveout.instruments import default_meter

STEPS = (
    reading("battery_volts", "12.54"),
    C2,
    reading("panel_volts", "12.46 V"),
    AccessDone(name="guard", minutes=20),
    C1,
    reading("lamp_volts", "8,27 V"),
    reading("ground_drop", "0.146"),
    seen("look_c1", "clean"),
)


def test_replaying_twice_gives_the_same_state_and_belief() -> None:
    desk, case = a_desk(*STEPS)
    one, two = desk.state(case), desk.state(case)
    assert one == two
    model = lamp_model()
    np.testing.assert_array_equal(believe(model, one).weight, believe(model, two).weight)


def test_a_copied_store_gives_the_same_belief_with_a_model_compiled_from_the_stored_text(tmp_path: Path) -> None:
    store = SqliteStore(tmp_path / "cases.db")
    desk, case = a_desk(*STEPS, store=store)
    store.close()
    copy = Desk(SqliteStore(Path(shutil.copy(tmp_path / "cases.db", tmp_path / "copy.db"))))
    model = compile_model(read_circuit(copy.state(case).text), default_meter())
    np.testing.assert_array_equal(
        believe(model, copy.state(case)).weight, believe(lamp_model(), desk.state(case)).weight
    )


def test_the_complaint_and_a_stored_code_are_evidence_of_before() -> None:
    desk, case = a_desk(opened=lamp_opened(codes=("B1234", "P0335")))
    assert desk.state(case).evidence == (
        OutcomeSeen("behaviour", "light", "dim", past=True),
        OutcomeSeen("behaviour", "b1234", "set", past=True),
    )


def test_a_complaint_that_the_circuit_does_not_know_opens_no_case() -> None:
    store = MemoryStore()
    with pytest.raises(InputError, match=r"no outcome of 'light' 'dimm'.*did you mean 'dim'"):
        a_desk(store=store, opened=lamp_opened(complaint={"light": "dimm"}))
    with pytest.raises(InputError, match=r"no behaviour 'start'.*choose one of: b1234, light"):
        a_desk(store=store, opened=lamp_opened(complaint={"start": "no"}))
    assert store.cases() == ()


def test_a_circuit_with_mistakes_opens_no_case() -> None:
    desk = Desk(MemoryStore())
    with pytest.raises(CircuitError, match=r"work-lamp.yaml: 8 mistakes"):
        desk.open(lamp_opened(), lamp_chosen("schema: 1\n"))


def test_planned_minutes_are_those_of_the_step_with_its_access_and_set_up() -> None:
    desk, case = a_desk(*STEPS)
    spent = {entry.event.kind + str(entry.number): entry.minutes for entry in desk.state(case).entries}
    # Reading 1 minute, bringing the vehicle into the set-up 0.3; the harness check as long as unplugging, 0.5.
    assert spent["reading-taken3"] == pytest.approx(1.3)
    assert spent["harness-checked4"] == pytest.approx(0.5)
    assert spent["reading-taken5"] == pytest.approx(1.0)
    # The real time where it was noted, and the access is not paid twice.
    assert spent["access-done6"] == 20
    assert spent["harness-checked7"] == pytest.approx(0.5)
    assert desk.state(case).minutes == pytest.approx(1.3 + 0.5 + 1.0 + 20 + 0.5 + 1.0 + 1.0 + 2.5)


def test_access_that_a_step_needs_is_taken_as_done_with_it_and_withdrawn_with_it() -> None:
    desk, case = a_desk(C1, reading("lamp_volts", "12.1"))
    state = desk.state(case)
    assert state.access == {"guard"}
    assert [entry.opened for entry in state.entries] == [(), (), ("guard",), ()]
    desk.record(case, Correction(corrects=3))
    assert [entry.number for entry in desk.state(case).uncounted] == [4]


def test_the_shop_knows_what_is_open_what_was_spent_and_what_cannot_be_done() -> None:
    opened = lamp_opened(authorised_minutes=60, authorised_money=100.0)
    desk, case = a_desk(*STEPS, CannotDo(name="ground_ohms", because="meter fuse blown"), opened=opened)
    state = desk.state(case)
    assert state.shop.opened == {"guard"}
    assert state.shop.setup == "lamp_on"
    assert state.shop.cannot == {"ground_ohms"}
    assert state.shop.minutes_left == pytest.approx(60 - 27.8)
    # 27.8 minutes at 60 an hour.
    assert state.shop.money_left == pytest.approx(100 - 27.8)


def test_without_an_authorised_sum_nothing_limits_the_planner() -> None:
    desk, case = a_desk(*STEPS)
    assert (desk.state(case).shop.minutes_left, desk.state(case).shop.money_left) == (None, None)


def test_a_set_up_that_was_noted_is_not_paid_again() -> None:
    desk, case = a_desk(SetupDone(name="lamp_on"), reading("battery_volts", "12.5"))
    assert [entry.minutes for entry in desk.state(case).entries[2:]] == pytest.approx([0.3, 1.0])


def test_what_the_customer_said_costs_nothing() -> None:
    past = OutcomeNoted(what="behaviour", name="light", outcome="dark", past=True)
    desk, case = a_desk(past)
    entry = desk.state(case).entries[-1]
    assert (entry.minutes, entry.setup) == (0.0, "")
    assert entry.evidence == (OutcomeSeen("behaviour", "light", "dark", past=True),)


def test_a_corrected_reading_counts_as_corrected() -> None:
    desk, case = a_desk(*STEPS)
    desk.record(case, desk.replacement(case, 8, {"value": 12.3, "shown": "12.30 V", "typed": "12.30"}))
    taken = [e for e in desk.state(case).evidence if isinstance(e, ReadingTaken) and e.measurement == "lamp_volts"]
    assert [e.reading.value for e in taken] == [12.3]
    assert desk.store.events(case)[7].event == STEPS[5]


def test_the_history_says_what_each_reading_ruled_out_and_how_it_stands_to_the_limits() -> None:
    desk, case = a_desk(*STEPS)
    rows = {row.entry.number: row for row in histories(lamp_model(), desk.state(case))}
    assert rows[3].verdict == "good"
    assert rows[8].verdict == "bad"
    assert rows[8].limit is not None
    assert (rows[8].limit.low, rows[8].limit.high) == (11.4, 12.9)
    assert rows[6].consequence is None
    at_lamp, at_ground = rows[8].consequence, rows[9].consequence
    assert at_lamp is not None
    assert at_ground is not None
    # The voltage is lost before the lamp's connector: its own terminals come after the place of the reading.
    assert {"Feed terminal, C1 cavity 1", "Ground terminal, C1 cavity 2"} <= set(at_lamp.ruled_out)
    # 0.15 V lost in 4 m of 1.5 mm2 at the lamp's current is what copper loses (13.3 mohm/m, IEC 60228).
    assert at_ground.ruled_out == ("Ground wire",)
    assert rows[9].suspects[0].suspect == "w_feed"
    assert rows[9].suspects[0].probability > 0.97
    assert sum(opinion.probability for opinion in rows[10].suspects) == pytest.approx(1.0)


def test_a_note_changes_no_belief() -> None:
    desk, case = a_desk(*STEPS, Note(text="customer waits"))
    rows = histories(lamp_model(), desk.state(case))
    assert rows[-1].suspects == rows[-2].suspects


def test_a_case_without_its_opening_is_an_error_of_the_store() -> None:
    store = MemoryStore()
    case = store.open_case([Opened()], NOON)
    with pytest.raises(StoreError, match="no circuit"):
        replay(store.events(case))


def test_a_corrected_sheet_reads_the_whole_case_anew_and_says_what_no_longer_counts() -> None:
    desk, case = a_desk(*STEPS)
    renamed = TEXT.replace("battery_volts:", "post_volts:").replace("{light: dim}", "")
    done = desk.record(case, lamp_chosen(renamed))
    assert [entry.number for entry in done.no_longer] == [3]
    assert "did you mean" in done.no_longer[0].problem or "choose one of" in done.no_longer[0].problem
    assert len(done.after.evidence) == len(done.before.evidence) - 1


def test_what_was_read_or_watched_while_wiggling_enters_the_evidence_as_such() -> None:
    read = reading("battery_volts", "12.54").model_copy(update={"disturbed": True})
    watched = OutcomeNoted(what="behaviour", name="light", outcome="dim", disturbed=True)
    desk, case = a_desk(read, watched)
    assert desk.state(case).evidence[-2:] == (
        ReadingTaken("battery_volts", read.reading, disturbed=True),
        OutcomeSeen("behaviour", "light", "dim", disturbed=True),
    )
    assert [entry_text(entry.event, lamp())[-9:] for entry in desk.state(case).entries[-2:]] == ["(wiggled)"] * 2
