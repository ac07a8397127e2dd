"""Puts what the schema rejects into the words of a circuit file."""

from __future__ import annotations

import re
import reprlib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from proveout.circuits.finding import Finding, Path, choices, closest
from proveout.network.elements import ELEMENTS

__all__ = ["SchemaMap", "schema_findings", "value_at"]

_UNION_TAGS = frozenset({"float", "str", "bool", "Value", "Driven"})
_NUMBER_WITH_UNIT = re.compile(r"\s*([-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?)\s*[^\d\s].*")
_WRITE = {
    "float": ("a number", "Write a number without a unit, such as 0.5"),
    "int": ("a whole number", "Write a whole number, such as 2019"),
    "string": ("a text", "Write a text, in quotes if it looks like a number"),
    "bool": ("true or false", "Write true or false"),
    "list": ("a list", "Write a list: [first, second]"),
    "tuple": ("a list of two", "Write a list of two: [first, second]"),
    "dict": ("a mapping of names", "Write 'name: ...' entries below it, or {} for none"),
    "model": ("a mapping of fields", "Write 'field: value' entries below it"),
}


class SchemaMap:
    """The JSON Schema of a model, asked by the path of an entry."""

    def __init__(self, model: type[BaseModel]) -> None:
        self._root = model.model_json_schema()

    def at(self, path: Path, data: Any) -> Mapping[str, Any]:
        """Return the schema of the entry at `path`, empty where nothing is allowed."""
        node: Mapping[str, Any] = self._root
        for step in path:
            node = self._below(self.resolved(node, data), step)
            data = _step(data, step)
        return node

    def fields(self, path: Path, data: Any) -> Mapping[str, Any]:
        """Return the fields that the model at `path` may have."""
        fields: Mapping[str, Any] = self.resolved(self.at(path, data), value_at(data, path)).get("properties", {})
        return fields

    def is_optional(self, path: Path, data: Any) -> bool:
        """Say whether the field at `path` may be left out."""
        parent = self.resolved(self.at(path[:-1], data), value_at(data, path[:-1]))
        return path[-1] in parent.get("properties", {}) and path[-1] not in parent.get("required", [])

    def resolved(self, node: Mapping[str, Any], data: Any) -> Mapping[str, Any]:
        """Follow references, and of alternatives take the one that the data mean."""
        while "$ref" in node or "anyOf" in node:
            if "$ref" in node:
                node = self._root["$defs"][node["$ref"].rsplit("/", 1)[1]]
            else:
                node = self._meant([self.resolved(option, data) for option in node["anyOf"]], data)
        return node

    @staticmethod
    def _meant(options: list[Mapping[str, Any]], data: Any) -> Mapping[str, Any]:
        models = [option for option in options if "properties" in option]
        if not models or not isinstance(data, dict):
            return options[0]
        return max(models, key=lambda option: len(option["properties"].keys() & data.keys()))

    @staticmethod
    def _below(node: Mapping[str, Any], step: str | int) -> Mapping[str, Any]:
        if isinstance(step, int):
            listed = node.get("prefixItems", [])
            below = listed[step] if step < len(listed) else node.get("items", {})
        else:
            below = node.get("properties", {}).get(step, node.get("additionalProperties", {}))
        return below if isinstance(below, Mapping) else {}


def value_at(data: Any, path: Path) -> Any:
    """Return what stands at `path`, None where nothing does."""
    for step in path:
        data = _step(data, step)
    return data


def schema_findings(error: ValidationError, schema: SchemaMap, data: Any) -> list[Finding]:
    """Return one finding for each place that the schema rejects."""
    findings: dict[Path, Finding] = {}
    misspelt: set[Path] = set()
    for detail in error.errors(include_url=False):
        path, stem, tag = _real_path(detail["loc"], data)
        if detail["type"] == "extra_forbidden" and not isinstance(path[-1], int):
            meant = closest(path[-1], schema.fields(path[:-1], data))
            if meant:
                misspelt.add((*path[:-1], meant))
        if stem is None:
            findings.setdefault(path, _finding(detail, path, schema, data))
        elif not isinstance(value_at(data, stem), dict) or tag in {"str", "bool"}:
            findings[stem] = _no_alternative(stem, tag, data, findings.get(stem))
        elif tag == ("Driven" if "condition" in value_at(data, stem) else "Value"):
            findings.setdefault(path, _finding(detail, path, schema, data))
    return [f for f in findings.values() if f.path not in misspelt or value_at(data, f.path) is not None]


def _step(data: Any, step: str | int) -> Any:
    if isinstance(data, dict):
        return data.get(step)
    if isinstance(data, list) and isinstance(step, int) and step < len(data):
        return data[step]
    return None


def _real_path(loc: tuple[str | int, ...], data: Any) -> tuple[Path, Path | None, str]:
    """Return the path in the data, the path of a union in it (or None) and the alternative that was tried."""
    path: list[str | int] = []
    stem: Path | None = None
    tag = ""
    for step in loc:
        inside = isinstance(data, dict) and step in data
        if not inside and stem is None and step in _UNION_TAGS:
            stem, tag = tuple(path), str(step)
            continue
        path.append(step)
        data = _step(data, step)
    return tuple(path), stem, tag


def _finding(detail: ErrorDetails, path: Path, schema: SchemaMap, data: Any) -> Finding:
    kind = detail["type"]
    if kind == "missing":
        return _missing(path, schema, data)
    if kind == "extra_forbidden":
        return _extra(path, schema, data)
    expected, instead = _advice(detail, path, data)
    description = schema.at(path, data).get("description")
    meaning = f" ({description})" if description else ""
    return Finding(path, _shown(value_at(data, path)), expected + meaning, instead)


def _missing(path: Path, schema: SchemaMap, data: Any) -> Finding:
    last = path[-1]
    if isinstance(last, int):
        shown = _shown(value_at(data, path[:-1]))
        return Finding(path[:-1], f"{shown}, which has no item {last + 1}", "a list of two", "Add the missing item")
    description = schema.at(path, data).get("description", "")
    meaning = f" ({description})" if description else ""
    return Finding(path, f"no '{last}'", f"a field '{last}'{meaning}", f"Add '{last}: ...'")


def _extra(path: Path, schema: SchemaMap, data: Any) -> Finding:
    last = path[-1]
    if isinstance(last, int):
        return Finding(path, "one item too many", "a list of two", "Remove the item")
    fields = schema.fields(path[:-1], data)
    near = closest(last, fields)
    instead = f"Write '{near}'" if near else "Remove it"
    return Finding(path, f"unknown field '{last}'", f"one of: {choices(fields, most=30)}", instead)


def _no_alternative(path: Path, tag: str, data: Any, earlier: Finding | None) -> Finding:
    if earlier is not None:
        return earlier
    found = _shown(value_at(data, path))
    if tag in {"str", "bool"} or (path and not _is_part_value(path)):
        return Finding(path, found, "a text, a number, or true or false", "Write one plain value")
    expected = "a number, or {value, tol, source}, or {condition, scale, offset}"
    return Finding(path, found, expected, _number_advice(path, data))


def _is_part_value(path: Path) -> bool:
    return len(path) >= 4 and path[0] == "parts" and path[2] == "values"


def _advice(detail: ErrorDetails, path: Path, data: Any) -> tuple[str, str]:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "literal_error":
        return _literal(str(context["expected"]), value_at(data, path))
    if kind == "string_pattern_mismatch":
        return "small letters, digits and dashes", "Write a name such as crank-hall-5v"
    if kind == "too_long":
        return f"at most {context['max_length']} items", "Remove the others"
    bounds = {"greater_than_equal": "ge", "less_than_equal": "le", "greater_than": "gt", "less_than": "lt"}
    if kind in bounds:
        words = {"ge": "at least", "le": "at most", "gt": "greater than", "lt": "less than"}[bounds[kind]]
        bound = f"a number {words} {context[bounds[kind]]:g}"
        return bound, f"Write {bound}"
    expected, instead = _WRITE.get(kind.split("_")[0], (detail["msg"], "Correct the value"))
    return expected, _number_advice(path, data) if expected == "a number" else instead


def _literal(expected: str, found: Any) -> tuple[str, str]:
    options = re.findall(r"'([^']*)'", expected) or [expected]
    near = closest(str(found), options)
    return f"one of: {', '.join(o or '(nothing)' for o in options)}", f"Write {near}" if near else "Write one of these"


def _number_advice(path: Path, data: Any) -> str:
    value = value_at(data, path)
    unit = _unit(path, data)
    wanted = f"a number in {unit}" if unit else "the number"
    if isinstance(value, str) and (match := _NUMBER_WITH_UNIT.fullmatch(value)):
        return f"Write {wanted} alone, without a unit, such as {match[1]}"
    return f"Write {wanted} without a unit, such as 0.5"


def _unit(path: Path, data: Any) -> str:
    """Return the unit of a part's value, where its kind is known."""
    if not _is_part_value(path):
        return ""
    kind = value_at(data, (*path[:2], "kind"))
    element = ELEMENTS.get(kind) if isinstance(kind, str) else None
    parameter = element.parameters.get(str(path[3])) if element else None
    return parameter.unit if parameter and parameter.unit != "1" else ""


def _shown(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list" if len(value) != 1 else f"a list of one ({_shown(value[0])})"
    return reprlib.repr(value) if isinstance(value, str) else str(value).lower()
