"""A vehicle's own sheet, made from a ready circuit in under a minute."""

from __future__ import annotations

import pytest

from circuits.small_circuit import SMALL
from proveout.circuits import new_sheet, parse_answers, questions, read_circuit
from proveout.circuits.schema import Circuit, Limit, Vehicle
from proveout.circuits.sheet_answers import limit_text, parse_limit
from proveout.errors import InputError

BASE = read_circuit(SMALL)


def sheet(*pairs: tuple[str, str]) -> Circuit:
    return read_circuit(new_sheet(BASE, parse_answers(BASE, pairs)))


def test_only_what_was_answered_changes_and_the_rest_keeps_its_source() -> None:
    made = sheet(("vehicle.make", "Invented"), ("vehicle.year", "2019"), ("limit.feed-v", "11.8..12.9"))
    assert made.name == "small-invented-2019"
    assert made.based_on == "small"
    assert made.vehicle is not None and made.vehicle.year == 2019
    limit = made.measurements["feed-v"].limit
    assert limit is not None and (limit.low, limit.high, limit.source) == (11.8, 12.9, "entered for this vehicle")
    assert made.parts == BASE.parts
    assert made.measurements["return-ohms"] == BASE.measurements["return-ohms"]


def test_a_colour_goes_to_the_wire_and_into_its_title() -> None:
    made = sheet(("wire.w_feed.colour", "green/yellow"))
    assert made.parts["w_feed"].colour == ["GN", "YE"]
    assert made.parts["w_feed"].title == "Feed wire GN/YE"


def test_exchanged_cavities_take_their_points_and_titles_with_them() -> None:
    made = sheet(("terminal.t_feed.cavity", "2"), ("terminal.t_return.cavity", "1"))
    assert made.parts["t_feed"].cavity == "2"
    assert made.parts["t_feed"].title == "Feed terminal, CS cavity 2"
    assert (made.points["cs_1"].cavity, made.points["cs_1"].title) == ("2", "CS cavity 2")
    assert (made.points["pin_2"].cavity, made.points["pin_2"].title) == ("1", "sensor pin 1")
    assert made.points["cs_1"].node == BASE.points["cs_1"].node


def test_minutes_and_parts_are_the_shops_own() -> None:
    made = sheet(("access.cover.minutes", "45"), ("repair.sensor.parts", "82"), ("repair.wire.minutes", "12.5"))
    assert made.access["cover"].minutes == 45
    assert made.units["sensor"].repair.parts == 82
    assert made.units["sensor"].repair.minutes == BASE.units["sensor"].repair.minutes
    assert made.wire_repair is not None
    assert made.wire_repair.minutes == 12.5
    assert "entered for this vehicle" in made.access["cover"].source


def test_a_condition_named_off_survives_the_writing() -> None:
    assert sheet().conditions["key"].values == ["off", "on"]


def test_a_sheet_of_a_sheet_still_names_the_ready_circuit() -> None:
    first = sheet(("name", "mine"))
    again = read_circuit(new_sheet(first, parse_answers(first, [("name", "mine-too")])))
    assert (again.name, again.based_on) == ("mine-too", "small")


def test_every_answer_that_is_wrong_is_told_at_once() -> None:
    pairs = [
        ("wire.w_fed.colour", "RD"),
        ("wire.w_feed.colour", "mauve"),
        ("limit.feed-v", "5"),
        ("vehicle.year", "19"),
    ]
    with pytest.raises(InputError) as caught:
        parse_answers(BASE, pairs)
    text = str(caught.value)
    assert "did you mean 'wire.w_feed.colour'?" in text
    assert "unknown colour 'mauve'" in text
    assert "write 4.8..5.2" in text
    assert "four digits" in text


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        ("name", "My Sheet", "small letters"),
        ("access.cover.minutes", "-5", "below 0"),
        ("access.cover.minutes", "5 min", "without a unit"),
        ("title", " ", "nothing is given"),
        ("limit.feed-v", "5..4", "low above high"),
        ("limit.feed-v", "4,8..5,2", "is no number"),
        ("repair.w_feed.minutes", "5", "unknown answer"),
    ],
)
def test_a_wrong_answer_says_what_to_write(key: str, text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        parse_answers(BASE, [(key, text)])


def test_two_terminals_in_one_cavity_are_refused_with_both_names() -> None:
    with pytest.raises(InputError, match=r"both 't_feed' and 't_return'; give terminal.t_feed.cavity and"):
        sheet(("terminal.t_feed.cavity", "2"))


def test_an_answer_that_does_not_fit_the_measurement_is_refused() -> None:
    with pytest.raises(InputError, match="'open' on volts_dc"):
        sheet(("limit.feed-v", "OL"))


@pytest.mark.parametrize("text", ["4.8..5.2", "..1", "10000..", "-0.1..0.1", "OL"])
def test_a_limit_reads_back_as_it_was_written(text: str) -> None:
    assert limit_text(parse_limit(text)) == text


def test_a_limit_may_be_in_kilohm() -> None:
    assert parse_limit("2.2k..2.8k") == Limit(low=2200.0, high=2800.0, open=False, source="entered for this vehicle")


def test_the_questions_show_what_the_base_says_now() -> None:
    asked = {question.key: question.now for question in questions(BASE)}
    assert asked["wire.w_feed.colour"] == "RD/WH"
    assert asked["terminal.t_feed.cavity"] == "1"
    assert asked["limit.feed-v"] == "12..13"
    assert asked["repair.sensor.minutes"] == "10"


def test_a_vehicles_own_sheet_says_nothing_of_the_invented_vehicle_of_its_base() -> None:
    invented = Vehicle(make="Invented", model="Example", engine="1.6", note="invented for this library")
    base = BASE.model_copy(update={"about": "A feed. The vehicle is invented.", "vehicle": invented})
    made = read_circuit(new_sheet(base, parse_answers(base, (("vehicle.make", "Own"), ("vehicle.year", "2019")))))
    assert made.about == "A feed."
    assert made.vehicle == Vehicle(make="Own", year=2019)
    assert read_circuit(new_sheet(base, parse_answers(base, ()))).vehicle is None
