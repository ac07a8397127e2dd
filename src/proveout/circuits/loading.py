"""Loads a circuit or a service chart; every mistake of a file is reported at once, with its line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path as FilePath
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from proveout.circuits.consistency import check_chart, check_circuit
from proveout.circuits.finding import Finding
from proveout.circuits.marked_yaml import MarkedYaml, read_marked
from proveout.circuits.salvage import salvage
from proveout.circuits.schema import Circuit
from proveout.circuits.schema_findings import SchemaMap, schema_findings
from proveout.circuits.service_chart import ServiceChart
from proveout.errors import CircuitError, InputError, Mistake

__all__ = ["load_chart", "load_circuit", "read_chart", "read_circuit"]

Model = TypeVar("Model", bound=BaseModel)


def load_circuit(path: FilePath | str) -> Circuit:
    """Load a circuit file.

    Raises
    ------
    InputError
        The file cannot be read.
    CircuitError
        It has mistakes; the error lists them all, each with line, place, what was found, what was expected and what to
        write instead.
    """
    return read_circuit(_text(FilePath(path)), str(path))


def read_circuit(text: str, name: str = "circuit") -> Circuit:
    """Read a circuit from the text of a file; `name` stands in messages. Raises `CircuitError` as `load_circuit`."""
    return _read(Circuit, text, name, check_circuit)


def load_chart(path: FilePath | str, circuit: Circuit) -> ServiceChart:
    """Load a service chart of `circuit`; raises as `load_circuit`."""
    return read_chart(_text(FilePath(path)), circuit, str(path))


def read_chart(text: str, circuit: Circuit, name: str = "chart") -> ServiceChart:
    """Read a service chart of `circuit` from the text of a file; raises `CircuitError` as `load_circuit`."""
    return _read(ServiceChart, text, name, lambda chart: check_chart(chart, circuit))


def _read(model: type[Model], text: str, name: str, check: Callable[[Model], Iterable[Finding]]) -> Model:
    marked = read_marked(text, name)
    thing, findings = _validated(model, marked, check)
    if thing is not None and not findings and not marked.findings:
        return thing
    told = {finding.path for finding in marked.findings}
    findings = [*marked.findings, *(finding for finding in findings if finding.path not in told)]
    mistakes = {marked.mistake(finding): None for finding in findings}
    raise CircuitError(name, sorted(mistakes, key=_order))


def _validated(
    model: type[Model], marked: MarkedYaml, check: Callable[[Model], Iterable[Finding]]
) -> tuple[Model | None, list[Finding]]:
    try:
        thing = model.model_validate(marked.data)
    except ValidationError as error:
        schema = SchemaMap(model)
        findings = schema_findings(error, schema, marked.data)
        rest = salvage(model, schema, marked.data, findings)
        later = [f for f in check(rest.thing) if not rest.hides(f)] if rest.thing is not None else []
        return None, [*findings, *later]
    return thing, list(check(thing))


def _order(mistake: Mistake) -> tuple[int, str]:
    return mistake.line, mistake.place


def _text(path: FilePath) -> str:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}). Check the name and the permissions") from error
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        mistake = Mistake(line, "the file", "a byte that is not UTF-8", "UTF-8 text", "Save the file as UTF-8")
        raise CircuitError(str(path), [mistake]) from error
