"""A sheet filled in field by field: what fits is taken over, the rest keeps its own error; both sheets compared."""

from __future__ import annotations

import pytest

from proveout.circuits import parse_answers, questions, read_circuit, ready_circuit, ready_names
from proveout.circuits.sheet import new_sheet
from proveout.circuits.sheet_comparison import compare_sheet
from proveout.circuits.sheet_edit import edit_sheet

BASE = ready_circuit("crank-hall-5v")


@pytest.mark.parametrize("name", ready_names())
def test_what_the_sheet_says_already_changes_nothing(name: str) -> None:
    circuit = ready_circuit(name)
    typed = {question.key: question.now for question in questions(circuit)}
    assert edit_sheet(circuit, typed) == type(edit_sheet(circuit, {}))("", {})


def test_an_answer_that_does_not_fit_keeps_its_error_and_the_others_are_taken_over() -> None:
    edit = edit_sheet(
        BASE, {"wire.w_ref.colour": "brown/green", "limit.reference_at_cs": "4.8..x", "vehicle.year": "19"}
    )
    sheet = read_circuit(edit.text)
    assert sheet.parts["w_ref"].colour == ["BN", "GN"]
    assert sorted(edit.wrong) == ["limit.reference_at_cs", "vehicle.year"]
    assert "no year" in edit.wrong["vehicle.year"]
    assert "limit.reference_at_cs" not in edit.wrong["limit.reference_at_cs"]


def test_two_terminals_in_one_cavity_are_said_at_the_terminal_and_the_rest_is_kept() -> None:
    edit = edit_sheet(BASE, {"terminal.t_cs_ref.cavity": "3", "wire.w_ref.colour": "BN/GN"})
    assert "would hold both" in edit.wrong["terminal.t_cs_ref.cavity"]
    sheet = read_circuit(edit.text)
    assert sheet.parts["t_cs_ref"].cavity == BASE.parts["t_cs_ref"].cavity
    assert sheet.parts["w_ref"].colour == ["BN", "GN"]


def test_terminals_that_change_places_fit() -> None:
    edit = edit_sheet(BASE, {"terminal.t_cs_ref.cavity": "3", "terminal.t_cs_sig.cavity": "1"})
    assert edit.wrong == {}
    assert read_circuit(edit.text).parts["t_cs_ref"].cavity == "3"


def test_a_sheet_keeps_its_name_when_it_is_edited() -> None:
    sheet = read_circuit(edit_sheet(BASE, {"name": "my-crank"}).text)
    assert sheet.name == "my-crank"
    assert read_circuit(edit_sheet(sheet, {"wire.w_ref.colour": "BN"}).text).name == "my-crank"


def test_a_comparison_lists_what_was_answered_otherwise_once_each() -> None:
    answers = {"wire.w_ref.colour": "BN/GN", "repair.crank_sensor.parts": "33", "terminal.t_cs_ref.cavity": "7"}
    sheet = read_circuit(new_sheet(BASE, parse_answers(BASE, answers.items())))
    found = {d.key: (d.ready, d.sheet) for d in compare_sheet(BASE, sheet)}
    assert found == {
        "wire.w_ref.colour": ("RD/GY", "BN/GN"),
        "terminal.t_cs_ref.cavity": ("1", "7"),
        "repair.crank_sensor.parts": ("68", "33"),
    }


def test_a_comparison_also_finds_what_no_question_asks_for() -> None:
    text = new_sheet(BASE, parse_answers(BASE, [("name", "mine")]))
    part = BASE.parts["w_ref"]
    longer = part.model_copy(update={"values": {**part.values, "length": 9.0}})
    sheet = read_circuit(text).model_copy(update={"parts": {**BASE.parts, "w_ref": longer}})
    found = compare_sheet(BASE, sheet)
    assert found
    assert all(d.key.startswith("parts.w_ref.values.length") for d in found)
    assert any(d.sheet == "9" for d in found)
    assert all(d.title == part.title for d in found)


def test_a_circuit_does_not_differ_from_itself() -> None:
    assert compare_sheet(BASE, BASE) == ()
