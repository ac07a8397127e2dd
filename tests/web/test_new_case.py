"""Starting a case on the page: quick where little is known, nothing lost where something is wrong."""

from __future__ import annotations

import pytest

from proveout.cases.events import AccessDone, Note
from proveout.circuits.library import ready_names
from proveout.demo.opening import demo_file
from proveout.web import Workbench
from proveout.web.shop_settings import ShopSettings
from web.story import words_of
from web.visitor import HERE, Visitor

CRANK = {"circuit": "crank-hall-5v"}


@pytest.mark.parametrize("name", ready_names())
def test_a_case_of_every_ready_circuit_starts_with_its_circuit_alone(
    visitor: Visitor, bench: Workbench, name: str
) -> None:
    answer = visitor.send("/cases/new", {"circuit": name})
    assert answer.headers["location"] == "/cases/2"
    assert bench.desk.state(2).circuit.name == name


def test_everything_that_was_said_comes_into_the_case(visitor: Visitor, bench: Workbench) -> None:
    bench.set_settings(ShopSettings(currency="USD", labour_rate=104, shop="Pebble Quay (invented)"))
    fields = {
        **CRANK,
        "complaint.start": "late",
        "codes": "p0335, P0340",
        "concern": "cranks long",
        "identification": "1m8gdm9a xkp042788",
        "make": "Fennmark",
        "model": "Lapwing",
        "year": "2017",
        "access": "ecm_cover",
        "seen": "splashed loom",
        "order": "J-17",
        "authorised_minutes": "90,5",
        "away": "yes",
    }
    assert visitor.send("/cases/new", fields).headers["location"] == "/cases/2"
    opened = bench.desk.opening(2)
    assert opened.vehicle.identification == "1M8GDM9AXKP042788"  # the example of 49 CFR 565 and ISO 3779
    assert opened.codes == ("P0335", "P0340")
    assert (opened.complaint, opened.order, opened.authorised_minutes) == ({"start": "late"}, "J-17", 90.5)
    assert (opened.labour_rate, opened.currency, opened.shop) == (104, "USD", "Pebble Quay (invented)")
    kinds = [e.event for e in bench.desk.events(2)]
    assert AccessDone(name="ecm_cover", minutes=0.0) in kinds
    assert Note(text="splashed loom") in kinds
    assert [row["case"] for row in visitor.data("/cases.json?show=waiting")["cases"]] == [2]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({}, "Choose the circuit"),
        ({**CRANK, "identification": "1M8GDM9A1KP042788"}, "49 CFR 565"),
        ({**CRANK, "codes": "P0335 XYZ"}, "XYZ is no trouble code"),
        ({**CRANK, "year": "last"}, "four digits"),
        ({**CRANK, "year": "12"}, "year"),
        ({**CRANK, "authorised_money": "much"}, "no amount"),
        ({**CRANK, "labour_rate": "-5"}, "no amount"),
        ({**CRANK, "complaint.start": "sometimes"}, "no outcome"),
        ({"circuit": "../../etc/passwd"}, "Choose the circuit"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_typed_is_lost(
    visitor: Visitor, bench: Workbench, typed: dict[str, str], says: str
) -> None:
    answer = visitor.send("/cases/new", {**typed, "concern": "a concern typed at length", "model": "Lapwing"})
    assert answer.status_code == 422
    assert says in words_of(answer)
    assert "a concern typed at length" in answer.text
    assert 'value="Lapwing"' in answer.text
    assert bench.desk.store.cases() == (1,)


def test_a_sheet_comes_as_a_file_whose_name_is_never_used(visitor: Visitor, bench: Workbench) -> None:
    """What the sheet says of its vehicle need not be typed again."""
    files = {"file": ("../../../etc/cron.d/evil.yaml", demo_file("lapwing-crank.yaml").encode())}
    data = {"token": visitor.token, "circuit": ""}
    assert visitor.ask("POST", "/cases/new", data=data, files=files, headers={"origin": HERE}).status_code == 303
    assert bench.desk.state(2).circuit.name == "lapwing-crank"
    assert bench.desk.opening(2).vehicle.make == "Fennmark"


@pytest.mark.parametrize("content", [b"\xff\xfe", b"name: [", b"!!python/object:os.system {}", b"a: &a [*a]"])
def test_a_file_that_is_no_circuit_is_told(visitor: Visitor, bench: Workbench, content: bytes) -> None:
    files = {"file": ("own.yaml", content)}
    data = {"token": visitor.token, "circuit": ""}
    answer = visitor.ask("POST", "/cases/new", data=data, files=files, headers={"origin": HERE})
    assert answer.status_code == 422
    assert bench.desk.store.cases() == (1,)


def test_an_identification_number_is_judged_while_it_is_typed(visitor: Visitor) -> None:
    right = visitor.data("/identification.json?identification=1M8GDM9AXKP042788")
    assert (right["number"], right["checked"], right["message"]) == ("1M8GDM9AXKP042788", True, "")
    assert visitor.data("/identification.json?identification=1M8GDM9A1KP042788")["message"]
    assert visitor.data("/identification.json?identification=WVWZZZ1JZXW000001")["checked"] is False


def test_the_complaints_of_a_circuit_are_shown_when_it_is_chosen(visitor: Visitor) -> None:
    part = visitor.see("/cases/new/circuit?circuit=crank-hall-5v")
    assert "cranks long, then starts late" in words_of(part)
    assert visitor.see("/cases/new/circuit?circuit=nothing").text == ""
    whole = visitor.send("/cases/new", {**CRANK, "show": "yes", "concern": "kept"})
    assert "cranks long, then starts late" in words_of(whole)
    assert "kept" in whole.text
