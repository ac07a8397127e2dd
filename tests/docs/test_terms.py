"""The page of terms is complete, has no term twice, and lists none that nobody uses."""

from __future__ import annotations

import inspect
import re
from collections import Counter
from types import ModuleType
from typing import get_args

import pytest
from pydantic import BaseModel

from docs.pages import ROOT, product_text, rows, section
from proveout.cases.events import EVENTS
from proveout.circuits import schema, service_chart
from proveout.instruments import Function
from proveout.network import ELEMENTS

PAGE = (ROOT / "docs" / "terms.md").read_text("utf-8")
WORDS = (
    "The network",
    "The vehicle and its wiring",
    "Meters and readings",
    "Faults and what is believed",
    "What can be done, and what comes next",
    "Charts",
    "The case",
    "Practice",
    "Recordings",
)
# A term named with the word that tells it apart is looked for by the word itself.
APART = re.compile(r" (?:of (?:the|a|an) \w+)$")


def _models(module: ModuleType) -> list[type[BaseModel]]:
    found = [m for m in vars(module).values() if inspect.isclass(m) and issubclass(m, BaseModel)]
    return [m for m in found if m.__module__ == module.__name__ and not m.__name__.startswith("_")]


def _spaced(name: str) -> str:
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def _names(heading: str) -> list[str]:
    return [row[0].strip("`") for row in rows(section(PAGE, heading))]


def _terms() -> list[str]:
    return [name for heading in WORDS for name in _names(heading)]


def test_every_word_of_a_circuit_file_and_a_service_chart_stands_with_its_places() -> None:
    places: dict[str, set[str]] = {}
    for model in (*_models(schema), *_models(service_chart)):
        for name, field in model.model_fields.items():
            places.setdefault(field.alias or name, set()).add(_spaced(model.__name__))
    listed = rows(section(PAGE, "Words of a circuit file and of a service chart"))
    assert {row[0].strip("`"): set(row[1].split(", ")) for row in listed} == places


def test_every_element_kind_stands_with_its_terminals_and_fault_modes() -> None:
    listed = {row[0].strip("`"): row[1:] for row in rows(section(PAGE, "Element kinds"))}
    assert set(listed) == set(ELEMENTS)
    for name, element in ELEMENTS.items():
        title, terminals, modes = listed[name]
        assert title == element.title
        assert re.findall(r"`(\w+)`", terminals) == list(element.terminals)
        said = [f"`{mode.name}` ({mode.title})" for mode in element.faults]
        assert modes == (", ".join(said) or "none")


def test_every_parameter_of_an_element_stands_with_its_kinds_and_its_unit() -> None:
    known: dict[tuple[str, str], set[str]] = {}
    for name, element in ELEMENTS.items():
        for parameter, what in element.parameters.items():
            known.setdefault((parameter, what.unit), set()).add(name)
    listed = rows(section(PAGE, "Parameters of the elements"))
    assert {(row[0].strip("`"), row[3]): set(row[1].split(", ")) for row in listed} == known


def test_every_function_of_the_meter_stands_with_its_unit() -> None:
    listed = rows(section(PAGE, "Functions of the meter"))
    units = {function.value: function.unit.replace("Ω", "ohm") for function in Function}
    assert {row[0].strip("`"): row[2] for row in listed} == units
    assert set(get_args(schema.Measurement.model_fields["function"].annotation)) <= set(units)


def test_every_event_of_a_case_stands_in_its_list() -> None:
    assert _names("Events of a case") == list(EVENTS)


def test_a_term_stands_once_and_always_with_its_meaning_and_unit() -> None:
    assert [term for term, count in Counter(_terms()).items() if count > 1] == []
    for heading in WORDS:
        for row in rows(section(PAGE, heading)):
            assert len(row) == 3, row
            assert all(row), row


@pytest.fixture(scope="module")
def product() -> str:
    return product_text()


def test_no_term_is_listed_that_the_product_does_not_use(product: str) -> None:
    unused = []
    for term in _terms():
        words = r"[\s_-]?".join(map(re.escape, re.split(r"[\s-]", APART.sub("", term))))
        if not re.search(rf"(?<![a-z]){words}(?:s|es|d|ed)?(?![a-z])", product, re.IGNORECASE):
            unused.append(term)
    assert unused == []
