"""What can be changed when a vehicle's own sheet is made from a ready circuit, and how it is written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from proveout.circuits.colours import Colours, colour_text, parse_colours
from proveout.circuits.finding import closest
from proveout.circuits.repairs import own_repairs
from proveout.circuits.schema import Circuit, Limit, Repair, Vehicle
from proveout.errors import InputError

__all__ = [
    "ENTERED",
    "Question",
    "SheetAnswers",
    "limit_text",
    "parse_answers",
    "parse_limit",
    "questions",
    "repairs_by_name",
]

ENTERED = "entered for this vehicle"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*")
_AMOUNT = re.compile(r"([-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?)\s*([kM]?)")
_FACTORS = {"": 1.0, "k": 1e3, "M": 1e6}
_VEHICLE = {"make": "Make", "model": "Model", "year": "Year", "engine": "Engine", "note": "Note"}


@dataclass(frozen=True)
class SheetAnswers:
    """What differs on this vehicle from the ready circuit; everything else is taken over with its source.

    Minutes are working minutes, parts are in the shop's money, limits are in the unit of the measurement's function.
    """

    name: str = ""
    title: str = ""
    vehicle: Vehicle | None = None
    colours: Mapping[str, Colours] = field(default_factory=dict)
    cavities: Mapping[str, str] = field(default_factory=dict)
    limits: Mapping[str, Limit] = field(default_factory=dict)
    access_minutes: Mapping[str, float] = field(default_factory=dict)
    repair_minutes: Mapping[str, float] = field(default_factory=dict)
    repair_parts: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Question:
    """One thing that may be answered: its key, what it is, the group it belongs to, and what the base says now."""

    key: str
    title: str
    group: str
    now: str
    form: str


def questions(base: Circuit) -> tuple[Question, ...]:
    """Return all that may be answered about `base`, in the order in which a technician meets it."""
    return tuple(_questions(base))


def parse_answers(base: Circuit, pairs: Iterable[tuple[str, str]]) -> SheetAnswers:
    """Return the answers from keys and texts, such as `wire.w_ref.colour` and `RD/WH`.

    Raises
    ------
    InputError
        Unknown keys (with the nearest one) and unusable texts, all of them at once.
    """
    known = {question.key: question for question in questions(base)}
    taken: dict[str, object] = {}
    problems: list[str] = []
    for key, text in pairs:
        try:
            if key not in known:
                raise InputError(_unknown_key(key, known))
            taken[key] = _READERS[known[key].group](text.strip())
        except InputError as error:
            problems.append(f"{key}: {error}" if key in known else str(error))
    if problems:
        raise InputError("\n".join(problems))
    return _answers(taken)


def parse_limit(text: str) -> Limit:
    """Return a limit from `4.8..5.2`, `..1`, `10k..` or `OL`.

    Raises
    ------
    InputError
        The text is none of these, or low is above high.
    """
    if text.strip().casefold() in {"ol", "open"}:
        return Limit(open=True, source=ENTERED)
    low, separator, high = text.partition("..")
    if not separator or not (low.strip() or high.strip()):
        raise InputError(f"'{text}' is no limit; write 4.8..5.2, ..1 (at most), 10k.. (at least) or OL (open is good)")
    bounds = [_amount(part, text) if part.strip() else None for part in (low, high)]
    limit = Limit(low=bounds[0], high=bounds[1], open=False, source=ENTERED)
    if limit.low is not None and limit.high is not None and limit.low > limit.high:
        raise InputError(f"'{text}' has low above high; write the smaller number first")
    return limit


def limit_text(limit: Limit | None) -> str:
    """Return a limit as `parse_limit` reads it, nothing for none."""
    if limit is None:
        return ""
    if limit.low is None and limit.high is None:
        return "OL"
    low, high = ("" if value is None else f"{value:g}" for value in (limit.low, limit.high))
    return f"{low}..{high}"


def repairs_by_name(base: Circuit) -> dict[str, Repair]:
    """Return the repairs whose minutes and parts can be set: units, shared repairs, `wire` and `terminal`."""
    named = {name: unit.repair for name, unit in base.units.items()}
    return {**own_repairs(base), **base.repairs, **named}


def _questions(base: Circuit) -> Iterator[Question]:
    yield Question("name", "Name of the sheet", "name", "", "small letters, digits and dashes")
    yield Question("title", "Title of the sheet", "text", base.title, "text")
    for field_name, title in _VEHICLE.items():
        now = getattr(base.vehicle, field_name, None) or ""
        form = "year" if field_name == "year" else "text"
        yield Question(f"vehicle.{field_name}", title, form, str(now), form)
    for name, part in base.parts.items():
        title = part.title or name
        if part.kind == "wire":
            yield Question(f"wire.{name}.colour", title, "colour", colour_text(part.colour), "colours such as RD/WH")
        if part.kind == "terminal" and part.connector:
            yield Question(f"terminal.{name}.cavity", f"{title} ({part.connector})", "cavity", part.cavity, "cavity")
    for name, measurement in base.measurements.items():
        now = limit_text(measurement.limit)
        yield Question(f"limit.{name}", measurement.title or name, "limit", now, "4.8..5.2, ..1, 10k.. or OL")
    for name, access in base.access.items():
        yield Question(f"access.{name}.minutes", access.title, "amount", f"{access.minutes:g}", "minutes")
    for name, repair in repairs_by_name(base).items():
        yield Question(f"repair.{name}.minutes", repair.title, "amount", f"{repair.minutes:g}", "minutes")
        yield Question(f"repair.{name}.parts", repair.title, "amount", f"{repair.parts:g}", "the shop's money")


def _answers(taken: Mapping[str, object]) -> SheetAnswers:
    vehicle = _group(taken, "vehicle.", "")
    return SheetAnswers(
        name=str(taken.get("name", "")),
        title=str(taken.get("title", "")),
        vehicle=Vehicle.model_validate(vehicle) if vehicle else None,
        colours=_group(taken, "wire.", ".colour"),
        cavities=_group(taken, "terminal.", ".cavity"),
        limits=_group(taken, "limit.", ""),
        access_minutes=_group(taken, "access.", ".minutes"),
        repair_minutes=_group(taken, "repair.", ".minutes"),
        repair_parts=_group(taken, "repair.", ".parts"),
    )


def _group(taken: Mapping[str, object], head: str, tail: str) -> dict[str, Any]:
    return {
        key.removeprefix(head).removesuffix(tail): value
        for key, value in taken.items()
        if key.startswith(head) and key.endswith(tail)
    }


def _unknown_key(key: str, known: Iterable[str]) -> str:
    names = list(known)
    near = closest(key, names)
    if near:
        return f"unknown answer '{key}'; did you mean '{near}'?"
    alike = [name for name in names if name.split(".")[0] == key.split(".")[0]]
    return f"unknown answer '{key}'; there are: {', '.join(alike or names[:12])}"


def _amount(text: str, whole: str) -> float:
    match = _AMOUNT.fullmatch(text.strip())
    if match is None:
        raise InputError(
            f"'{text.strip()}' in '{whole}' is no number; write it without a unit, k or M allowed: 4.8..5.2"
        )
    return float(match[1]) * _FACTORS[match[2]]


def _not_negative(text: str) -> float:
    amount = _amount(text, text)
    if amount < 0:
        raise InputError(f"'{text}' is below 0; write 0 or more")
    return amount


def _year(text: str) -> int:
    if not (text.isdecimal() and len(text) == 4):
        raise InputError(f"'{text}' is no year; write four digits, such as 2019")
    return int(text)


def _name(text: str) -> str:
    if not _NAME.fullmatch(text):
        raise InputError(f"'{text}' is no name of a sheet; write small letters, digits and dashes, such as my-crank")
    return text


def _filled(text: str) -> str:
    if not text:
        raise InputError("nothing is given; write a text, or leave the answer out")
    return text


_READERS: Mapping[str, Callable[[str], object]] = {
    "name": _name,
    "text": _filled,
    "year": _year,
    "colour": parse_colours,
    "cavity": _filled,
    "limit": parse_limit,
    "amount": _not_negative,
}
