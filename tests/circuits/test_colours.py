"""What people type for the colours of a wire. The code letters are those of IEC 60757 (from memory)."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.circuits.colours import colour_text, colour_words, parse_colours
from proveout.circuits.schema import Colour
from proveout.errors import InputError

IEC_60757 = {
    "black": "BK",
    "brown": "BN",
    "red": "RD",
    "orange": "OG",
    "yellow": "YE",
    "green": "GN",
    "blue": "BU",
    "violet": "VT",
    "grey": "GY",
    "white": "WH",
    "pink": "PK",
    "gold": "GD",
    "turquoise": "TQ",
    "silver": "SR",
}


def test_the_codes_are_those_of_the_standard_and_of_the_schema() -> None:
    assert {word: colour_words()[word] for word in IEC_60757} == IEC_60757
    assert set(get_args(Colour)) == set(IEC_60757.values()) == set(colour_words().values())


@pytest.mark.parametrize(
    "text",
    ["RD/WH", "rd-wh", "red/white", "Red with white stripe", "RDWH", "rot weiß", "ROT/WEISS", "rt/ws", " RED, WHT "],
)
def test_red_with_a_white_stripe_is_understood_as_people_write_it(text: str) -> None:
    assert parse_colours(text) == ("RD", "WH")


@pytest.mark.parametrize("text", ["gr", "BL", "B", "light green", "tan", "RD/XX", "RDX"])
def test_a_colour_that_is_unknown_or_means_two_is_asked_back_with_the_list(text: str) -> None:
    with pytest.raises(InputError, match=r"unknown colour .*GN \(green\).*GY \(grey\).*such as RD/WH"):
        parse_colours(text)


def test_no_colour_and_four_colours_are_refused() -> None:
    with pytest.raises(InputError, match="no colour"):
        parse_colours(" / ")
    with pytest.raises(InputError, match="at most two stripes"):
        parse_colours("RD/WH/BK/GN")


@given(st.lists(st.sampled_from(get_args(Colour)), min_size=1, max_size=3))
def test_what_is_written_is_read_back(codes: list[Colour]) -> None:
    assert parse_colours(colour_text(codes)) == tuple(codes)
    assert parse_colours("".join(codes)) == tuple(codes)


@given(st.text(max_size=30))
def test_no_text_breaks_the_reading_of_colours(text: str) -> None:
    try:
        assert 1 <= len(parse_colours(text)) <= 3
    except InputError as error:
        assert "write BK (black)" in str(error)
