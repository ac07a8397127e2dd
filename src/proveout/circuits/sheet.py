"""A vehicle's own sheet: a complete circuit file made from a ready circuit and a few answers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import yaml

from proveout.circuits.colours import colour_text
from proveout.circuits.loading import read_circuit
from proveout.circuits.repairs import own_repairs
from proveout.circuits.schema import Circuit
from proveout.circuits.sheet_answers import ENTERED, SheetAnswers
from proveout.errors import CircuitError, InputError

__all__ = ["new_sheet"]

_WIDTH = 120
_INVENTED = re.compile(r"\s*\bThe vehicle is invented\.")


class _Dumper(yaml.SafeDumper):
    """Writes texts that look like numbers to any YAML reader in quotes."""


_Dumper.add_implicit_resolver("tag:yaml.org,2002:float", re.compile(r"[-+]?[\d.]+[eE][-+]?\d+"), list("-+.0123456789"))


def new_sheet(base: Circuit, answers: SheetAnswers) -> str:
    """Return the text of a circuit file for one vehicle.

    What the answers do not change keeps its value and its source; a terminal that moves to another cavity takes its
    points and the titles that name the cavity with it.

    Raises
    ------
    InputError
        An answer names what the base does not have, or two terminals end in the same cavity.
    """
    _check_names(base, answers)
    _check_cavities(base, answers)
    data = base.model_dump(by_alias=True, exclude_unset=True)
    _set_head(data, base, answers)
    _set_places(data, base, answers)
    _set_limits(data, answers)
    _set_work(data, base, answers)
    text = _text(data)
    try:
        read_circuit(text, data["name"])
    except CircuitError as error:
        raise InputError(f"the answers do not fit the circuit '{base.name}': {error}") from error
    return text


def _set_head(data: dict[str, Any], base: Circuit, answers: SheetAnswers) -> None:
    data["name"] = answers.name or _own_name(base, answers)
    data["title"] = answers.title or base.title
    _forget_invented(data, base)
    if answers.vehicle is not None:
        data["vehicle"] = {**data.get("vehicle", {}), **answers.vehicle.model_dump(exclude_unset=True)}
    head: dict[str, Any] = {
        key: data.pop(key) for key in ("schema", "name", "title", "about", "vehicle") if key in data
    }
    rest = {key: value for key, value in data.items() if key != "based_on"}
    data.clear()
    data.update({**head, "based_on": base.based_on or base.name, **rest})


def _forget_invented(data: dict[str, Any], base: Circuit) -> None:
    """Take out the invented vehicle of the base: the new sheet is of a real one."""
    if base.vehicle is not None and "invented" in base.vehicle.note.lower():
        del data["vehicle"]
    about = _INVENTED.sub("", base.about).strip()
    if about != base.about:
        data["about"] = about


def _own_name(base: Circuit, answers: SheetAnswers) -> str:
    vehicle = answers.vehicle
    words = [vehicle.make, vehicle.model, str(vehicle.year or "")] if vehicle else []
    slug = re.sub(r"[^a-z0-9]+", "-", " ".join(words).lower()).strip("-")
    return f"{base.name}-{slug or 'own'}"


def _set_places(data: dict[str, Any], base: Circuit, answers: SheetAnswers) -> None:
    moved: dict[str, dict[str, str]] = {}
    for name, cavity in answers.cavities.items():
        terminal = base.parts[name]
        moved.setdefault(terminal.connector, {})[terminal.cavity] = cavity
        data["parts"][name]["cavity"] = cavity
    for name, point in base.points.items():
        new = moved.get(point.connector, {}).get(point.cavity)
        if new is not None:
            data["points"][name]["cavity"] = new
    recoloured = {
        colour_text(base.parts[name].colour): colour_text(colours) for name, colours in answers.colours.items()
    }
    for name, colours in answers.colours.items():
        data["parts"][name]["colour"] = list(colours)
    for section in ("parts", "points", "measurements", "setups", "bridges", "looks", "trials"):
        for name, entry in data.get(section, {}).items():
            if "title" in entry:
                own = getattr(getattr(base, section)[name], "connector", "")
                entry["title"] = _retitled(entry["title"], own, moved, recoloured)


def _retitled(title: str, own: str, moved: Mapping[str, Mapping[str, str]], recoloured: Mapping[str, str]) -> str:
    """Return a title with its cavities and its wire colours put right.

    `CE cavity 12` names its connector; `cavity 12` or `pin 12` alone means the entry's own connector.
    """

    def cavity(match: re.Match[str]) -> str:
        named = match["connector"] or ""
        connector = named.strip() if named.strip() in moved else own
        old = str(match["cavity"])
        return f"{named}{match['word']}{moved.get(connector, {}).get(old, old)}"

    pattern = r"(?P<connector>\b\w+ )?(?P<word>\b(?:[Cc]avity|[Pp]in) )(?P<cavity>\w+)\b"
    title = re.sub(pattern, cavity, title)
    return re.sub(r"(?<![\w/])\w\w(?:/\w\w)+(?![\w/])", lambda match: recoloured.get(match[0], match[0]), title)


def _set_limits(data: dict[str, Any], answers: SheetAnswers) -> None:
    for name, limit in answers.limits.items():
        data["measurements"][name]["limit"] = limit.model_dump(exclude_defaults=True)


def _set_work(data: dict[str, Any], base: Circuit, answers: SheetAnswers) -> None:
    for name, minutes in answers.access_minutes.items():
        data["access"][name].update(minutes=minutes, source=ENTERED)
    for field, amounts in (("minutes", answers.repair_minutes), ("parts", answers.repair_parts)):
        for name, amount in amounts.items():
            repair = _repair(data, base, name)
            repair[field] = amount
            repair["source"] = _joined(repair.get("source", ""), field)


def _joined(source: str, field: str) -> str:
    """Return the source of a repair of which one field was entered for this vehicle and the rest taken over."""
    entered = f"{field} {ENTERED}"
    return f"{source}; {entered}" if source else entered


def _repair(data: dict[str, Any], base: Circuit, name: str) -> dict[str, Any]:
    if name in base.units:
        repair: dict[str, Any] = data["units"][name]["repair"]
    elif name in base.repairs:
        repair = data["repairs"][name]
    else:
        repair = data[f"{name}_repair"]
    return repair


def _check_names(base: Circuit, answers: SheetAnswers) -> None:
    repairs = {*own_repairs(base), *base.repairs, *base.units}
    asked: tuple[tuple[str, Mapping[str, object], set[str]], ...] = (
        ("wire", answers.colours, {name for name, part in base.parts.items() if part.kind == "wire"}),
        ("terminal", answers.cavities, {name for name, part in base.parts.items() if part.kind == "terminal"}),
        ("measurement", answers.limits, set(base.measurements)),
        ("access operation", answers.access_minutes, set(base.access)),
        ("repair", answers.repair_minutes, repairs),
        ("repair", answers.repair_parts, repairs),
    )
    for what, given, known in asked:
        for name in given:
            if name not in known:
                raise InputError(f"no {what} '{name}' in {base.name}; there are: {', '.join(sorted(known))}")


def _check_cavities(base: Circuit, answers: SheetAnswers) -> None:
    taken: dict[tuple[str, str], str] = {}
    for name, part in base.parts.items():
        if part.kind != "terminal" or not part.connector:
            continue
        place = part.connector, answers.cavities.get(name, part.cavity)
        if place in taken:
            first = taken[place]
            raise InputError(
                f"cavity {place[1]} of {place[0]} would hold both '{first}' and '{name}'; "
                f"give terminal.{first}.cavity and terminal.{name}.cavity"
            )
        taken[place] = name


def _text(data: dict[str, Any]) -> str:
    head = f"# Made from the ready circuit '{data['based_on']}'. Check it against the vehicle's own wiring diagram.\n"
    body = yaml.dump(
        _plain(data), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=_WIDTH, default_flow_style=None
    )
    return head + body


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value
