"""The ready circuits: each loads, each value says where it comes from."""

from __future__ import annotations

import time
from collections.abc import Iterator

import jsonschema
import pytest
import yaml

from proveout.circuits import (
    Circuit,
    chart_json_schema,
    chart_names,
    circuit_json_schema,
    new_sheet,
    parse_answers,
    questions,
    read_circuit,
    ready_chart,
    ready_circuit,
    ready_names,
    ready_text,
    ready_titles,
)
from proveout.circuits.library import chart_text
from proveout.circuits.marked_yaml import read_marked
from proveout.circuits.repairs import own_repairs
from proveout.circuits.schema import Driven, Value
from proveout.errors import InputError

NAMES = ready_names()
PUBLISHED = (
    "SAE J2012",
    "ATS645LSH data sheet",
    "AD22157 preliminary data sheet",
    "a workshop manual's",
    "a secondary help",
)
OWN = ("common practice", "from memory", "our choice: ", "invented vehicle", "computed")
"""What stands in a source that is no publication, as docs/sources.md has it; 'our choice' is followed by its reason."""


def unsourced(circuit: Circuit) -> Iterator[str]:
    for name, part in circuit.parts.items():
        for key, value in part.values.items():
            if not isinstance(value, Value | Driven) or not value.source:
                yield f"parts.{name}.values.{key}"
        yield from (f"parts.{name}.faults.{mode}" for mode, fault in part.faults.items() if not _has_source(fault))
    for section in ("bridges", "repairs", "access", "looks", "trials", "signals", "behaviours"):
        yield from (f"{section}.{name}" for name, entry in getattr(circuit, section).items() if not entry.source)
    for name, measurement in circuit.measurements.items():
        if measurement.limit is not None and not measurement.limit.source:
            yield f"measurements.{name}.limit"
    yield from (f"units.{name}" for name, unit in circuit.units.items() if not unit.repair.source)
    yield from (n for n, r in own_repairs(circuit).items() if not r.source)


def _has_source(fault: object) -> bool:
    """A fault override needs a source unless it only takes the mode out."""
    return bool(getattr(fault, "source", "")) or getattr(fault, "weight", None) == 0


@pytest.mark.parametrize("name", NAMES)
def test_a_ready_circuit_loads_under_its_own_name(name: str) -> None:
    circuit = ready_circuit(name)
    assert circuit.name == name
    assert ready_titles()[name] == circuit.title


@pytest.mark.parametrize("name", NAMES)
def test_every_value_of_a_ready_circuit_has_a_source(name: str) -> None:
    assert list(unsourced(ready_circuit(name))) == []


def sources(value: object) -> Iterator[str]:
    """Yield every text under a key `source`, at any depth."""
    if isinstance(value, dict):
        for key, below in value.items():
            yield from [str(below)] if key == "source" else sources(below)
    elif isinstance(value, list):
        for below in value:
            yield from sources(below)


@pytest.mark.parametrize("name", NAMES)
def test_every_source_is_a_publication_or_says_that_it_is_none(name: str) -> None:
    for text in (ready_text(name), chart_text(name)):
        found = list(sources(yaml.safe_load(text)))
        assert found
        assert [source for source in found if not any(known in source for known in (*PUBLISHED, *OWN))] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_measurement_and_set_up_has_a_title_with_a_capital(name: str) -> None:
    circuit = ready_circuit(name)
    titles = {name: measurement.title for name, measurement in circuit.measurements.items()}
    titles |= {name: setup.title for name, setup in circuit.setups.items()}
    assert {key: title for key, title in titles.items() if not title[:1].isupper()} == {}


@pytest.mark.parametrize("name", NAMES)
def test_a_ready_circuit_fits_the_json_schema(name: str) -> None:
    validator = jsonschema.Draft202012Validator(circuit_json_schema())
    data = read_marked(ready_text(name), name).data
    assert [error.message for error in validator.iter_errors(data)] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_without_changes_is_the_ready_circuit(name: str) -> None:
    base = ready_circuit(name)
    sheet = read_circuit(new_sheet(base, parse_answers(base, [])))
    assert sheet.based_on == name
    own = {"about": base.about, "vehicle": base.vehicle}
    assert sheet.model_copy(update={"name": name, "based_on": "", **own}) == base
    assert sheet.about.split() == base.about.replace("The vehicle is invented.", "").split()
    assert sheet.vehicle is None or "invented" not in sheet.vehicle.note.casefold()


@pytest.mark.parametrize("name", NAMES)
def test_what_the_base_says_can_be_given_as_the_answer_to_every_question(name: str) -> None:
    base = ready_circuit(name)
    pairs = [(question.key, question.now) for question in questions(base) if question.now]
    assert read_circuit(new_sheet(base, parse_answers(base, pairs))).parts == base.parts


@pytest.mark.parametrize("name", chart_names())
def test_a_service_chart_fits_its_circuit_and_the_json_schema(name: str) -> None:
    chart = ready_chart(name)
    assert chart.circuit == name
    assert chart.source
    jsonschema.Draft202012Validator(chart_json_schema()).validate(read_marked(chart_text(name), name).data)


@pytest.mark.parametrize("name", NAMES)
def test_loading_is_quick_enough_for_a_cold_command_line(name: str) -> None:
    text = ready_text(name)
    taken = []
    for _ in range(3):
        start = time.process_time()
        read_circuit(text, name)
        taken.append(time.process_time() - start)
    assert min(taken) < 0.06


def test_a_name_that_is_not_there_brings_the_nearest() -> None:
    with pytest.raises(InputError, match=rf"did you mean '{NAMES[0]}'"):
        ready_circuit(NAMES[0] + "x")
    with pytest.raises(InputError, match="no service chart"):
        ready_chart("nothing")
