"""The page of a case: the whole job by forms alone, and what a form may and may not do."""

from __future__ import annotations

from threading import Event
from typing import Any, get_args

import pytest

from proveout.cases.events import AdviceShown, Correction, Note, ReadingNoted
from proveout.cases.model_cache import ModelCache
from proveout.circuits.schema import Measurement
from proveout.demo.opening import demo_readings, demo_scenario
from proveout.diagnosis import Model
from proveout.web import Workbench
from proveout.web.pages.case import FUNCTIONS
from web.story import harness_fields, repair_fields, words_of, work
from web.visitor import Visitor


def test_the_demo_case_is_solved_by_forms_alone(visitor: Visitor, bench: Workbench) -> None:
    """Truth: the scenario's own, which no advice sees; its readings are ngspice's."""
    for done in work(visitor):
        assert done.status_code == 303, words_of(done)
    twin = visitor.data("/cases/1.json")
    truth = demo_scenario()["repair"]
    assert twin["next"]["advice"]["best"]["name"] == truth["suspect"]
    steps: tuple[tuple[str, dict[str, str]], ...] = (
        ("finding", {"suspect": truth["suspect"]}),
        ("repair", repair_fields()),
        ("proof", {"outcome": demo_scenario()["proof"]["outcome"]}),
        ("close", {}),
    )
    for form, fields in steps:
        visitor.see("/cases/1")
        assert visitor.send(f"/cases/1/{form}", fields).status_code == 303
    twin = visitor.data("/cases/1.json")
    assert twin["case"]["phase"] == "closed"
    assert twin["case"]["proofs"][-1]["cured"]
    assert [row["case"] for row in visitor.data("/cases.json?show=closed")["cases"]] == [1]
    assert "This case is closed" in words_of(visitor.see("/cases/1"))
    assert any(isinstance(e.event, AdviceShown) for e in bench.desk.events(1))


def test_what_is_advised_is_kept_in_the_record_once(visitor: Visitor, bench: Workbench) -> None:
    for _ in range(3):
        visitor.see("/cases/1")
    assert [type(e.event) for e in bench.desk.events(1)].count(AdviceShown) == 1


def test_the_harness_check_comes_first_and_a_mismatch_blocks_probing(visitor: Visitor, bench: Workbench) -> None:
    page = words_of(visitor.see("/cases/1?do=measure.reference_at_ce"))
    assert "First compare the colours at CE" in page
    assert "What the display shows" not in page
    refused = visitor.send("/cases/1/reading", {"name": "reference_at_ce", "typed": "5.01"})
    assert refused.status_code == 422
    assert "before its colours were compared" in words_of(refused)
    wrong = {**harness_fields("CE"), "cavity.43": "GN/YE"}
    visitor.send("/cases/1/harness", wrong)
    page = words_of(visitor.see("/cases/1?do=measure.reference_at_ce"))
    assert "Mismatch at CE: no probing there" in page
    assert "cavity 43: the sheet says BN/VT, the harness has GN/YE" in page
    refused = visitor.send("/cases/1/reading", {"name": "reference_at_ce", "typed": "5.01"})
    assert refused.status_code == 422
    assert not any(isinstance(e.event, ReadingNoted) for e in bench.desk.events(1))
    assert visitor.send("/cases/1/sheet", {"connector": "CE"}).status_code == 303
    assert visitor.send("/cases/1/reading", {"name": "reference_at_ce", "typed": "5.01"}).status_code == 303


def test_a_cavity_is_ticked_or_typed_not_both(visitor: Visitor) -> None:
    both = {"connector": "CE", "same.41": "yes", "cavity.41": "RD"}
    refused = visitor.send("/cases/1/harness", both)
    assert refused.status_code == 422
    assert "either as on the sheet or as you typed" in words_of(refused)
    assert visitor.send("/cases/1/harness", {"connector": "CE"}).status_code == 422
    ticked = {"connector": "CE", **{f"same.{cavity}": "yes" for cavity in ("41", "43", "58")}}
    assert visitor.send("/cases/1/harness", ticked).status_code == 303
    assert visitor.data("/cases/1.json")["case"]["harness"][0]["complete"]


def test_any_step_is_taken_out_of_order(visitor: Visitor) -> None:
    advised = visitor.data("/cases/1.json")["next"]["advice"]["best"]["name"]
    steps = visitor.data("/cases/1/steps.json")["steps"]
    assert len(steps) > 15
    for step in steps:
        answer = visitor.see(f"/cases/1?do={step['kind']}.{step['name']}")
        assert answer.status_code == 200
        assert step["title"] in words_of(answer).replace("&#39;", "'"), step
    other = next(s["name"] for s in steps if s["kind"] == "look" and s["name"] != advised)
    assert visitor.send("/cases/1/outcome", {"name": "look_at_target", "outcome": "good"}).status_code == 303
    assert other
    assert "Condition" not in advised
    evidence = visitor.data("/cases/1.json")["evidence"]
    assert evidence[-1]["kind"] == "outcome-seen"
    for suspect in visitor.data("/cases/1.json")["case"]["suspects"]:
        assert visitor.see(f"/cases/1?do=repair.{suspect['suspect']}").status_code == 200


def test_a_step_that_cannot_be_done_gives_the_next_best_and_needs_a_reason(visitor: Visitor) -> None:
    first = visitor.data("/cases/1.json")["next"]["advice"]["best"]["name"]
    assert visitor.send("/cases/1/cannot", {"name": first, "because": ""}).status_code == 422
    assert visitor.send("/cases/1/cannot", {"name": first, "because": "no scope here"}).status_code == 303
    second = visitor.data("/cases/1.json")
    assert second["next"]["advice"]["best"]["name"] != first
    assert second["case"]["cannot"] == {first: "no scope here"}


def test_undo_is_a_correcting_event(visitor: Visitor, bench: Workbench) -> None:
    visitor.send("/cases/1/note", {"text": "customer waits"})
    visitor.send("/cases/1/undo")
    kinds = [type(e.event) for e in bench.desk.events(1)]
    assert kinds[-2:] == [Note, Correction]
    assert "taken back" in visitor.see("/cases/1/record").text


def test_an_entry_is_put_right_from_the_record(visitor: Visitor) -> None:
    visitor.send("/cases/1/harness", harness_fields("CE"))
    visitor.send("/cases/1/reading", {"name": "reference_at_ce", "typed": "5.91"})
    number = visitor.data("/cases/1.json")["last"]
    fields = {"number": str(number), "typed": "5.01", "because": "misread"}
    assert visitor.send("/cases/1/correct", fields).status_code == 303
    assert any("5.01 V" in row["text"] for row in visitor.data("/cases/1.json")["evidence"])
    record = visitor.data("/cases/1/record.json")["events"]
    assert record[number - 1]["corrected_by"] == len(record)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("4.98", "4.98 V"),
        ("4,98 V", "4.98 V"),
        ("350 mV", "350 mV"),
        ("OL", "OL"),
        ("-", "-"),
    ],
)
def test_a_reading_is_shown_as_it_will_be_read_before_it_is_entered(visitor: Visitor, typed: str, says: str) -> None:
    answer = visitor.see(f"/cases/1/read-as?measurement=reference_at_ce&typed={typed}")
    assert answer.status_code == 200
    assert says.lower() in words_of(answer).lower()


def test_what_is_no_reading_is_told_while_it_is_typed_and_is_not_noted(visitor: Visitor, bench: Workbench) -> None:
    visitor.send("/cases/1/harness", harness_fields("CE"))
    before = bench.desk.events(1)
    for typed in ("", "five", "5 ohm", "1e9 V", "<script>alert(1)</script>"):
        answer = visitor.send(
            "/cases/1/reading", {"name": "reference_at_ce", "typed": typed, "do": "measure.reference_at_ce"}
        )
        assert answer.status_code == 422
        assert "<script>alert" not in answer.text
        if typed == "five":
            assert 'value="five"' in answer.text
    assert bench.desk.events(1) == before


def test_a_form_from_a_window_that_missed_something_is_not_noted_and_nothing_typed_is_lost(
    visitor: Visitor, bench: Workbench
) -> None:
    visitor.send("/cases/1/harness", harness_fields("CE"))
    seen = str(visitor.data("/cases/1.json")["last"])
    visitor.send("/cases/1/note", {"text": "from the other window", "seen": seen})
    before = bench.desk.events(1)
    stale = {"name": "reference_at_ce", "typed": "5.013", "seen": seen, "do": "measure.reference_at_ce"}
    answer = visitor.send("/cases/1/reading", stale)
    assert answer.status_code == 409
    assert "from the other window" in words_of(answer)
    assert 'value="5.013"' in answer.text
    assert bench.desk.events(1) == before
    now = str(visitor.data("/cases/1.json")["last"])
    assert f'name="seen" value="{now}"' in answer.text
    assert visitor.send("/cases/1/reading", {**stale, "seen": now}).status_code == 303


def test_advice_that_is_merely_shown_makes_no_window_stale(visitor: Visitor) -> None:
    seen = str(visitor.data("/cases/1.json")["last"])
    visitor.see("/cases/1")
    assert visitor.send("/cases/1/note", {"text": "still fresh", "seen": seen}).status_code == 303


def test_a_window_is_told_that_the_case_went_on(visitor: Visitor) -> None:
    seen = visitor.data("/cases/1.json")["last"]
    assert visitor.see(f"/cases/1/changes?seen={seen}").status_code == 204
    visitor.send("/cases/1/note", {"text": "news"})
    assert "news" in visitor.see(f"/cases/1/changes?seen={seen}").text


def test_everything_typed_is_escaped_wherever_it_is_shown(visitor: Visitor) -> None:
    bad = "<img src=x onerror=alert(1)>\"'"
    visitor.send("/cases/1/note", {"text": bad})
    visitor.send("/cases/1/vehicle", {"where": "away", "because": bad})
    first = visitor.data("/cases/1.json")["next"]["advice"]["best"]["name"]
    visitor.send("/cases/1/cannot", {"name": first, "because": bad})
    for path in ("/cases/1", "/cases/1/record", "/cases/1/steps", f"/cases?show=waiting&find={bad}"):
        page = visitor.see(path)
        assert page.status_code == 200
        assert "<img" not in page.text, path


def test_access_is_ticked_off(visitor: Visitor) -> None:
    assert visitor.send("/cases/1/access", {"name": "ecm_cover"}).status_code == 303
    twin = visitor.data("/cases/1.json")["case"]
    assert len(twin["opened_access"]) == 1
    assert twin["spent"]["minutes"] == 8  # as the demo's sheet says


def test_a_guess_does_not_pass_as_a_finding(visitor: Visitor) -> None:
    refused = visitor.send("/cases/1/finding", {"suspect": "crank_sensor", "because": "", "do": "repair.crank_sensor"})
    assert refused.status_code == 422
    assert "a finding needs 97 %" in words_of(refused)
    assert visitor.send("/cases/1/finding", {"suspect": "crank_sensor", "because": "seen broken"}).status_code == 303


def test_a_case_that_is_not_there_is_said_so(visitor: Visitor) -> None:
    assert visitor.see("/cases/99").status_code == 422
    assert "there is no case 99" in words_of(visitor.see("/cases/99"))
    assert visitor.see("/cases/ninety").status_code == 404
    assert demo_readings()["invented"]


def test_every_function_that_a_circuit_may_name_has_its_words() -> None:
    named = get_args(Measurement.model_fields["function"].annotation)
    assert set(named) <= set(FUNCTIONS)


def test_more_than_is_authorised_is_said(visitor: Visitor) -> None:
    assert "90 min left of what is authorised" in words_of(visitor.see("/cases/1"))
    visitor.send("/cases/1/access", {"name": "ecm_cover", "minutes": "100"})
    page = words_of(visitor.see("/cases/1"))
    assert "10 min more than is authorised: ask the customer" in page
    assert "left of what is authorised" not in page


def test_a_page_does_not_wait_for_a_circuit_that_takes_long_to_work_out(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Meanwhile every other page answers, and the case's own page comes as soon as the circuit is there."""
    go_on = Event()
    real = ModelCache.model

    def slow(cache: ModelCache, *rest: Any) -> Model:
        assert go_on.wait(30)
        return real(cache, *rest)

    monkeypatch.setattr(ModelCache, "model", slow)
    try:
        page = visitor.see("/cases/1")
        assert page.status_code == 200
        assert "is being worked out" in words_of(page)
        assert 'hx-get="/cases/1"' in page.text
        assert visitor.see("/cases").status_code == 200
        assert visitor.see("/cases/1/circuit").status_code == 200
    finally:
        go_on.set()
    for _ in range(20):
        if "Suspects" in words_of(visitor.see("/cases/1")):
            break
    assert "Suspects" in words_of(visitor.see("/cases/1"))
