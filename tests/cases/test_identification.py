"""The check digit of identification numbers.

Published example: 1M8GDM9AXKP042788 passes and fails when X becomes 1 (49 CFR 565 / ISO 3779; package vininfo agrees).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.cases.identification import check_digit, read_identification
from proveout.errors import InputError

PUBLISHED = "1M8GDM9AXKP042788"
ALLOWED = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"


def test_the_published_example_passes() -> None:
    assert check_digit(PUBLISHED) == "X"
    assert read_identification(" 1m8gdm9axkp042788 ") == PUBLISHED


def test_the_published_example_with_one_instead_of_x_fails_and_says_why() -> None:
    with pytest.raises(InputError, match=r"has 1 in position 9.*ask for X.*49 CFR 565.*read it again"):
        read_identification("1M8GDM9A1KP042788")


def test_seventeen_ones_pass_by_hand() -> None:
    # By hand: the weights sum to 89 = 8 x 11 + 1.
    assert check_digit("1" * 17) == "1"


def test_a_number_from_outside_north_america_needs_no_check_digit() -> None:
    assert read_identification("WZZZZZ00Z00000001") == "WZZZZZ00Z00000001"


@pytest.mark.parametrize("text", ["1M8GDM9AXKP04278", "1M8GDM9AXKP0427888"])
def test_a_wrong_length_is_named(text: str) -> None:
    with pytest.raises(InputError, match=rf"has {len(text)} characters and must have 17"):
        read_identification(text)


@pytest.mark.parametrize("letter", ["I", "O", "Q", "Ä"])
def test_letters_that_look_like_digits_are_refused(letter: str) -> None:
    with pytest.raises(InputError, match=f"holds '{letter}'"):
        read_identification(letter + PUBLISHED[1:])


def test_a_vehicle_made_before_the_rule_keeps_its_short_number() -> None:
    assert read_identification("AB 1234", year=1968) == "AB1234"


PLACES = [place for place in range(1, 17) if place != 8]


@given(st.text(ALLOWED, min_size=17, max_size=17), st.sampled_from(PLACES), st.integers(0, 9), st.integers(1, 9))
def test_one_misread_digit_is_caught(text: str, place: int, digit: int, away: int) -> None:
    number = "1" + text[1:place] + str(digit) + text[place + 1 :]
    number = number[:8] + check_digit(number) + number[9:]
    misread = number[:place] + str((digit + away) % 10) + number[place + 1 :]
    # Two digits differ by less than 11 and no weight is a multiple of 11, so the sum modulo 11 changes.
    assert misread[8] != check_digit(misread)
    with pytest.raises(InputError, match="position 9"):
        read_identification(misread)
