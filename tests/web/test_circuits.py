"""The circuits on the page: the library, a sheet filled in field by field or as text, files in and out."""

from __future__ import annotations

import pytest

from proveout.circuits import ready_circuit, ready_names, ready_text
from proveout.web import Workbench
from web.visitor import HERE, Visitor

TEXT = ready_text("crank-hall-5v")


def _sheet(visitor: Visitor, name: str = "crank-hall-5v") -> int:
    answer = visitor.send(f"/circuits/{name}/sheet")
    assert answer.status_code == 303, answer.text
    return int(answer.headers["location"].split("/")[2])


@pytest.mark.parametrize("name", ready_names())
def test_every_ready_circuit_has_a_page_a_drawing_and_a_file(visitor: Visitor, name: str) -> None:
    circuit = ready_circuit(name)
    twin = visitor.data(f"/circuits/{name}.json")
    assert twin["title"] == circuit.title
    measurement = next(iter(circuit.measurements))
    assert visitor.see(f"/circuits/{name}?draw=measure:{measurement}").status_code == 200
    assert visitor.see(f"/circuits/{name}/schematic.svg").text.startswith("<svg")
    file = visitor.see(f"/circuits/{name}/file")
    assert file.text == ready_text(name)
    assert file.headers["content-disposition"] == f'attachment; filename="{name}.yaml"'


def test_a_sheet_takes_over_what_fits_and_says_beside_a_field_what_does_not(visitor: Visitor) -> None:
    number = _sheet(visitor)
    answers = {"wire.w_ref.colour": "brown/green", "limit.reference_at_cs": "4.8..x"}
    answer = visitor.send(f"/sheets/{number}/edit", answers)
    assert answer.status_code == 422
    assert "no number" in answer.text
    assert 'value="4.8..x"' in answer.text
    twin = visitor.data(f"/sheets/{number}/edit.json")
    fields = {field["key"]: field for field in twin["fields"]}
    assert fields["wire.w_ref.colour"]["value"] == "BN/GN"
    assert fields["wire.w_ref.colour"]["read_as"] == "brown, green"
    assert fields["limit.reference_at_cs"]["value"] == "4.8..x"
    assert list(twin["wrong"]) == ["limit.reference_at_cs"]


def test_what_does_not_fit_is_still_there_after_a_restart_and_goes_when_it_is_put_right(
    bench: Workbench, visitor: Visitor
) -> None:
    number = _sheet(visitor)
    visitor.send(f"/sheets/{number}/edit", {"vehicle.year": "19"})
    again = Visitor(Workbench(bench.desk.store.path))  # type: ignore[attr-defined]  # the store on disk
    assert 'value="19"' in again.see(f"/sheets/{number}/edit").text
    assert again.send(f"/sheets/{number}/edit", {"vehicle.year": "2019"}).status_code == 303
    assert again.data(f"/sheets/{number}/edit.json")["wrong"] == {}


def test_a_sheet_is_compared_with_the_ready_circuit_it_was_made_from(visitor: Visitor) -> None:
    number = _sheet(visitor)
    assert visitor.data(f"/sheets/{number}/differences.json")["differences"] == []
    visitor.send(f"/sheets/{number}/edit", {"wire.w_ref.colour": "BN/GN"})
    found = visitor.data(f"/sheets/{number}/differences.json")
    assert found["beside"]["name"] == "crank-hall-5v"
    assert [(d["ready"], d["sheet"]) for d in found["differences"]] == [("RD/GY", "BN/GN")]
    assert "RD/GY" in visitor.see(f"/sheets/{number}/differences").text


def test_the_drawing_follows_the_sheet(visitor: Visitor) -> None:
    number = _sheet(visitor)
    assert "BN/GN" not in visitor.see(f"/sheets/{number}/schematic.svg").text
    visitor.send(f"/sheets/{number}/edit", {"wire.w_ref.colour": "BN/GN"})
    assert "BN/GN" in visitor.see(f"/sheets/{number}/schematic.svg").text


def test_the_text_of_a_file_is_kept_with_its_mistakes_and_each_is_named_by_line(visitor: Visitor) -> None:
    number = _sheet(visitor)
    before = visitor.see(f"/sheets/{number}/file").text
    spoilt = before.replace("kind: wire", "kind: wier", 1)
    line = spoilt[: spoilt.index("kind: wier")].count("\n") + 1
    answer = visitor.send(f"/sheets/{number}/text", {"text": spoilt})
    assert answer.status_code == 422
    assert f"Line {line}" in answer.text
    assert "wier" in visitor.see(f"/sheets/{number}/text").text
    assert visitor.see(f"/sheets/{number}/file").text == before
    assert visitor.send(f"/sheets/{number}/text", {"text": before}).status_code == 303
    assert "wier" not in visitor.see(f"/sheets/{number}/text").text


def _bring(visitor: Visitor, content: bytes, name: str = "x.yaml") -> tuple[int, str]:
    answer = visitor.ask(
        "POST",
        "/circuits/bring",
        data={"token": visitor.token},
        files={"file": (name, content, "application/yaml")},
        headers={"origin": HERE},
    )
    return answer.status_code, answer.headers.get("location", answer.text)


def test_a_file_from_elsewhere_is_kept_under_a_number_whatever_its_name(bench: Workbench, visitor: Visitor) -> None:
    status, where = _bring(visitor, TEXT.encode(), "../../../etc/passwd")
    assert (status, where) == (303, "/sheets/1")
    assert visitor.see("/sheets/1/file").text == TEXT
    assert bench.sheets.numbers() == (1,)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (TEXT.replace("kind: wire", "kind: wier", 1).encode(), "Line "),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"", "No file"),
        (b"<script>alert(1)</script>: [", "&lt;script&gt;"),
    ],
)
def test_a_file_with_mistakes_is_not_kept_and_says_why(
    bench: Workbench, visitor: Visitor, content: bytes, said: str
) -> None:
    status, text = _bring(visitor, content)
    assert status == 422
    assert said in text
    assert "<script>alert" not in text
    assert bench.sheets.numbers() == ()


def test_more_than_a_circuit_file_ever_has_is_refused(visitor: Visitor) -> None:
    assert _bring(visitor, b"#" * (2**20 + 1))[0] == 413


def test_a_case_is_started_with_a_sheet(bench: Workbench, visitor: Visitor) -> None:
    number = _sheet(visitor)
    visitor.send(f"/sheets/{number}/edit", {"wire.w_ref.colour": "BN/GN"})
    assert f'value="sheet-{number}" selected' in visitor.see(f"/cases/new?circuit=sheet-{number}").text
    answer = visitor.send("/cases/new", {"circuit": f"sheet-{number}", "concern": "starts late"})
    assert answer.status_code == 303, answer.text
    case = int(answer.headers["location"].rpartition("/")[2])
    assert bench.desk.state(case).circuit.parts["w_ref"].colour == ["BN", "GN"]


def test_there_is_no_page_of_a_circuit_that_is_not_there(visitor: Visitor) -> None:
    for path in ("/circuits/nothing", "/circuits/..%2fcircuit", "/sheets/7", "/sheets/7/edit", "/sheets/x"):
        assert visitor.see(path).status_code in (404, 405)
