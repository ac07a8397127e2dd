"""What is left of a file once the entries that the schema rejects are taken out, so that the rest can be checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from proveout.circuits.finding import Finding, Path
from proveout.circuits.schema_findings import SchemaMap, value_at

__all__ = ["Remains", "salvage"]

Model = TypeVar("Model", bound=BaseModel)
_REPAIR = {"title": "", "minutes": 0.0}
_STAND_INS: dict[str, Any] = {
    "schema": 1,
    "name": "unnamed",
    "title": "",
    "ground": "",
    "conditions": {},
    "parts": {},
    "wire_repair": _REPAIR,
    "terminal_repair": _REPAIR,
    "points": {},
    "setups": {},
    "proof": "",
    "chart": 1,
    "circuit": "",
    "source": "",
    "first": "",
    "steps": {},
}


@dataclass(frozen=True)
class Remains(Generic[Model]):
    """The part of a file that can be read, and what is gone from it."""

    thing: Model | None
    entries: frozenset[tuple[str, str]]
    sections: frozenset[str]
    fields: frozenset[Path]

    def hides(self, finding: Finding) -> bool:
        """Say whether a finding only follows from what is gone."""
        if finding.path in self.fields or finding.path in {path[:2] for path in self.fields}:
            return True
        if finding.path and finding.path[0] in self.sections:
            return True
        if finding.about is None:
            return False
        section, name = finding.about
        is_topic = name.startswith("*")
        gone = finding.about in self.entries or (is_topic and any(entry[0] == section for entry in self.entries))
        return gone or section in self.sections


def salvage(model: type[Model], schema: SchemaMap, data: Any, findings: Sequence[Finding]) -> Remains[Model]:
    """Take out what the findings name: an optional field alone, else the entry, else a whole section.

    Returns
    -------
    Remains
        With `thing` None where nothing could be saved.
    """
    entries: set[tuple[str, str]] = set()
    sections: set[str] = set()
    fields: set[Path] = set()
    if not isinstance(data, dict):
        return Remains(None, frozenset(), frozenset(), frozenset())
    for finding in findings:
        _take(finding.path, schema, data, entries, sections, fields)
    rest = _without(data, entries, sections, fields)
    try:
        thing = model.model_validate(rest)
    except ValidationError:
        thing = None
    return Remains(thing, frozenset(entries), frozenset(sections), frozenset(fields))


def _take(
    path: Path,
    schema: SchemaMap,
    data: Any,
    entries: set[tuple[str, str]],
    sections: set[str],
    fields: set[Path],
) -> None:
    is_unknown = bool(path) and path[-1] not in schema.fields(path[:-1], data) and not isinstance(path[-1], int)
    is_field = len(path) > 2 and isinstance(value_at(data, path[:-1]), dict) and schema.fields(path[:-1], data)
    if is_field and (is_unknown or schema.is_optional(path, data)):
        fields.add(path)
    elif len(path) >= 2 and "properties" not in schema.resolved(schema.at(path[:1], data), value_at(data, path[:1])):
        entries.add((str(path[0]), str(path[1])))
    elif path:
        sections.add(str(path[0]))


def _without(data: dict[str, Any], entries: set[tuple[str, str]], sections: set[str], fields: set[Path]) -> Any:
    rest = {section: _filtered(value, section, entries) for section, value in data.items() if section not in sections}
    rest.update({section: _STAND_INS[section] for section in sections if section in _STAND_INS})
    for path in sorted(fields, key=len, reverse=True):  # what lies inside another is deleted before it
        if (str(path[0]), str(path[1])) not in entries and path[0] not in sections:
            _delete(rest, path)
    return rest


def _filtered(value: Any, section: str, entries: set[tuple[str, str]]) -> Any:
    if not isinstance(value, dict) or not any(entry[0] == section for entry in entries):
        return value
    return {name: entry for name, entry in value.items() if (section, name) not in entries}


def _delete(rest: dict[str, Any], path: Path) -> None:
    """Delete the entry at `path`, copying what lies above it; an entry that is missing is left so."""
    node: Any = rest
    for step in path[:-1]:
        node[step] = node[step].copy()
        node = node[step]
    if isinstance(node, dict):
        node.pop(path[-1], None)
    else:
        del node[path[-1]]
