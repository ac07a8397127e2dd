"""What a sheet says otherwise than the ready circuit that it was made from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from proveout.circuits.schema import Circuit
from proveout.circuits.sheet_answers import questions

__all__ = ["Difference", "compare_sheet"]

_OF_ITS_OWN = ("name", "schema", "based_on", "vehicle", "about", "title")
_WORDS_ONLY = ("source", "title")


@dataclass(frozen=True)
class Difference:
    """One thing that differs: where, what it is in words, and what both say; empty where one of them has no such thing.

    `key` is that of the sheet's question, or the place in the file (`parts.w_ref.values.length.value`).
    """

    key: str
    title: str
    ready: str
    sheet: str


def compare_sheet(ready: Circuit, sheet: Circuit) -> tuple[Difference, ...]:
    """Return all differences: the questions of a sheet first, then everything else in the order of the files.

    Names, titles and sources are not compared, nor the vehicle: these are a sheet's own.
    """
    asked = tuple(_asked(ready, sheet))
    told = tuple(place for difference in asked for place in _places(difference.key))
    rest = (d for d in _rest(ready, sheet) if not d.key.startswith(told))
    return (*asked, *rest)


def _asked(ready: Circuit, sheet: Circuit) -> Iterator[Difference]:
    own = {question.key: question for question in questions(sheet)}
    for question in questions(ready):
        other = own.get(question.key)
        skipped = question.key.startswith("vehicle.") or question.key in _OF_ITS_OWN
        if not skipped and other is not None and other.now != question.now:
            yield Difference(question.key, question.title, question.now, other.now)


def _places(key: str) -> tuple[str, ...]:
    """Return where in the file the answer to a question stands, and what follows from it."""
    group, _, rest = key.partition(".")
    name, _, field = rest.rpartition(".")
    match group:
        case "wire":
            return (f"parts.{name}.{field}",)
        case "terminal":
            return (f"parts.{name}.{field}", "points.")
        case "limit":
            return (f"measurements.{rest}.limit",)
        case "access":
            return (f"access.{name}.{field}",)
        case _:
            return (f"units.{name}.repair.{field}", f"repairs.{name}.{field}", f"{name}_repair.{field}")


def _rest(ready: Circuit, sheet: Circuit) -> Iterator[Difference]:
    before, after = (_flat(c.model_dump(by_alias=True, exclude_defaults=True)) for c in (ready, sheet))
    for place in dict.fromkeys([*before, *after]):
        head, last = place.partition(".")[0], place.rpartition(".")[2]
        if head not in _OF_ITS_OWN and last not in _WORDS_ONLY and before.get(place) != after.get(place):
            yield Difference(place, _title(ready, sheet, place), before.get(place, ""), after.get(place, ""))


def _title(ready: Circuit, sheet: Circuit, place: str) -> str:
    """Return the title of the entry that a place in the file belongs to, empty where it has none."""
    section, name = [*place.split("."), "", ""][:2]
    for circuit in (sheet, ready):
        entries = getattr(circuit, section, None)
        entry = entries.get(name) if isinstance(entries, Mapping) else None
        if entry is not None:
            return str(getattr(entry, "title", ""))
    return ""


def _flat(value: Any, place: str = "") -> dict[str, str]:
    if isinstance(value, Mapping) and value:
        return {k: v for key, item in value.items() for k, v in _flat(item, f"{place}.{key}".lstrip(".")).items()}
    if isinstance(value, list | tuple):
        return {place: ", ".join(map(str, value))}
    return {place: f"{value:g}" if isinstance(value, float) else str(value)}
