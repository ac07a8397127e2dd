"""A practice vehicle is given out as a short code."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.circuits import ready_names
from proveout.errors import InputError
from proveout.practice import DIFFICULTIES, SEEDS, Task, read_code
from proveout.practice.code import ALPHABET

TASKS = st.builds(
    Task, st.sampled_from(ready_names()), st.sampled_from(DIFFICULTIES), st.integers(min_value=0, max_value=SEEDS - 1)
)


@given(TASKS)
def test_a_code_is_read_back_as_the_task_it_was_made_from(task: Task) -> None:
    assert read_code(task.code) == task
    assert read_code(task.code.lower().replace("-", " ")) == task


def test_no_two_ready_circuits_share_their_mark() -> None:
    assert len({Task(name, "easy", 0).mark for name in ready_names()}) == len(ready_names())


def test_every_single_wrong_letter_is_noticed() -> None:
    # A cyclic code of degree r notices every burst of up to r bits (Peterson and Brown 1961, from memory).
    letters = Task("crank-hall-5v", "hard", 4821).code.replace("-", "")
    for place, right in enumerate(letters):
        for wrong in ALPHABET.replace(right, ""):
            with pytest.raises(InputError, match="wrong"):
                read_code(letters[:place] + wrong + letters[place + 1 :])


def test_the_letters_o_i_and_l_are_read_as_the_digits_they_look_like() -> None:
    code = next(c for c in (Task("starter", "easy", k).code for k in range(200)) if "0" in c and "1" in c)
    assert read_code(code.replace("0", "O").replace("1", "l")) == read_code(code)


@pytest.mark.parametrize("typed", ["", "4K7P", "4K7P-9X2M-1", "4K7U-9X2M", "äöüä-äöüä"])
def test_what_is_no_code_is_answered_with_how_one_looks(typed: str) -> None:
    with pytest.raises(InputError, match="eight letters and digits"):
        read_code(typed)


@pytest.mark.parametrize(
    ("circuit", "difficulty", "seed", "answer"),
    [
        ("crank", "easy", 1, "no ready circuit 'crank'"),
        ("starter", "fiendish", 1, "'fiendish' is no difficulty"),
        ("starter", "easy", SEEDS, "out of range"),
        ("starter", "easy", -1, "out of range"),
    ],
)
def test_a_task_that_cannot_be_is_refused(circuit: str, difficulty: str, seed: int, answer: str) -> None:
    with pytest.raises(InputError, match=answer):
        Task(circuit, difficulty, seed)  # type: ignore[arg-type]  # what a page may send
