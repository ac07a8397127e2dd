"""Files that can and cannot be read."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from circuits.small_circuit import SMALL
from proveout.circuits import load_circuit, read_circuit
from proveout.errors import CircuitError, InputError

LINES = SMALL.splitlines(keepends=True)
SCRAPS = st.sampled_from(
    ["on", "5", "{", "]", ": ", "- ", "&a ", "*a", "null", ".nan", "[", "}", '"', "!!int ", "? ", "<<: ", "\n"]
)


def only_circuit_errors(text: str) -> None:
    try:
        read_circuit(text, "any.yaml")
    except CircuitError as error:
        assert error.mistakes
        assert all(m.line >= 1 and m.found and m.expected and m.instead for m in error.mistakes)


@given(st.text())
@settings(max_examples=300, deadline=None)
@example("[" * 100_000)
@example("- " * 100_000)
@example("&a [*a]")
@example("? ? ? a")
@example("a: !!python/object/apply:os.getcwd []")
def test_no_text_crashes_the_loader(text: str) -> None:
    only_circuit_errors(text)


@given(st.lists(st.tuples(st.integers(0, len(SMALL) - 1), st.integers(0, 12), SCRAPS), min_size=1, max_size=3))
@settings(max_examples=150, deadline=None)
@example([(783, 9, "on"), (3576, 0, "? ")])
def test_no_mangled_circuit_crashes_the_loader(cuts: list[tuple[int, int, str]]) -> None:
    text = SMALL
    for start, length, scrap in cuts:
        text = text[:start] + scrap + text[start + length :]
    only_circuit_errors(text)


@given(st.sets(st.integers(0, len(LINES) - 1), min_size=1, max_size=6))
@settings(max_examples=150, deadline=None)
def test_no_circuit_with_lines_missing_crashes_the_loader(missing: set[int]) -> None:
    only_circuit_errors("".join(line for number, line in enumerate(LINES) if number not in missing))


def test_a_file_is_loaded_by_its_path(tmp_path: Path) -> None:
    path = tmp_path / "small.yaml"
    path.write_text(SMALL, encoding="utf-8")
    assert load_circuit(path) == read_circuit(SMALL)


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.yaml: cannot be read .*Check the name"):
        load_circuit(tmp_path / "none.yaml")


def test_a_byte_that_is_no_text_is_named_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes("schema: 1\ntitle: Geber für Kühlmittel\n".encode("latin-1"))
    with pytest.raises(CircuitError) as caught:
        load_circuit(path)
    assert caught.value.mistakes[0].line == 2
    assert "UTF-8" in caught.value.mistakes[0].instead
