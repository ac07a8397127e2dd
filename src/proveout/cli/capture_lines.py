"""What was read and found of a recording, as lines for a terminal."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from proveout.cli.lines import bold, columns, item, paragraph

__all__ = ["comparison_lines", "findings_lines", "quantity", "reading_lines"]

Twin = Mapping[str, Any]

_PREFIXED = ("V", "A", "Hz", "Pa", "s", "Ω")
_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"))
_JUST = 1 + 1e-6  # so that a thousandth that is a hair less is not a thousand millionths
_FIGURES, _FIGURES_OF_TIME = 4, 6
_SHOWN_MARKS = 12
_PLAIN_ROLES = ("analogue signal", "not used")


def quantity(value: float | None, unit: str, uncertainty: float | None = None) -> str:
    """Write a value with its unit and its standard uncertainty, both under one prefix."""
    if value is None or not math.isfinite(value):
        return "not known"
    size, prefix = 1.0, ""
    if unit in _PREFIXED and value:
        usual = _PREFIXES[2:] if unit == "s" else _PREFIXES
        size, prefix = next((p for p in usual if abs(value) * _JUST >= p[0]), _PREFIXES[-1])
    text = f"{value / size:.{_FIGURES_OF_TIME if unit == 's' else _FIGURES}g}"
    if uncertainty:
        text += f" ± {uncertainty / size:.2g}"
    shown = "" if unit == "1" else unit
    return f"{text} {prefix}{shown}".rstrip()


def reading_lines(twin: Twin, roles: Mapping[str, Twin]) -> Iterator[str]:
    """Yield what was read, what was guessed and how to overrule it, and what is odd."""
    origin = twin["origin"]
    yield bold(f"{origin['name']}: {origin['format']}, {_bytes(origin['size'])}, SHA-256 {origin['sha256'][:12]}")
    yield from columns([_channel(channel, roles) for channel in twin["channels"]])
    for key, value in twin["details"].items():
        yield from item(f"{key}: {value}")
    if twin["guesses"] or roles:
        yield bold("Guessed")
        for guess in twin["guesses"]:
            place = f"{guess['channel']}: " if guess["channel"] else ""
            yield from item(f"{place}{guess['what']}: {guess['taken']}, for {guess['why']}{_how(guess)}")
        for name, role in roles.items():
            if not role["given"] and role["role"] not in _PLAIN_ROLES:
                yield from item(f"{name}: records: {role['role']}, for {role['why']}{_held('role', name)}")
        if any(role["role"] in _PLAIN_ROLES and not role["given"] for role in roles.values()):
            yield from item(f"the roles of the other channels: by their signals{_held('role', 'CHANNEL')}")
    if twin["notes"]:
        yield bold("Odd in this file")
        for note in twin["notes"]:
            yield from item(note)


def findings_lines(twin: Twin) -> Iterator[str]:
    """Yield findings by channel, marks in order of time, and what could not be decided."""
    for channel in dict.fromkeys(found["channel"] for found in twin["findings"]):
        yield bold(channel or "All channels")
        for found in twin["findings"]:
            if found["channel"] == channel:
                yield from item(f"{found['name']}: {_finding(found)}")
    if twin["marks"]:
        yield bold("Places in the record")
        yield from _marks(twin["marks"])
    if twin["undecided"]:
        yield bold("Not decided")
        for open_one in twin["undecided"]:
            place = f"{open_one['channel']}: " if open_one["channel"] else ""
            yield from item(place + open_one["reason"])


def comparison_lines(twin: Twin) -> Iterator[str]:
    """Yield what changed, the table of both captures, and what could not be compared."""
    now, reference = twin["now"]["file"], twin["reference"]["file"]
    yield bold(f"{now} beside {reference}")
    if not twin["changes"]:
        yield from paragraph("nothing changed by more than its uncertainty")
    for change in twin["changes"]:
        yield from item(change)
    yield bold("Figure by figure")
    rows = [("", "", now, reference, "")]
    for row in twin["rows"]:
        mine = row["word"] or (quantity(row["value"], row["unit"]) if row["value"] is not None else "-")
        good = row["reference_word"] or (
            quantity(row["reference"], row["unit"]) if row["reference"] is not None else "-"
        )
        rows.append((row["channel"] or row["reference_channel"], row["name"], mine, good, row["verdict"]))
    yield from columns(rows)
    if twin["undecided"]:
        yield bold("Not decided")
        for reason in twin["undecided"]:
            yield from item(reason)


def _finding(found: Twin) -> str:
    value = found["word"] or quantity(found["value"], found["unit"], found["uncertainty"])
    text = found["text"]
    if not text:
        return value
    return text if found["word"] and text.startswith(found["word"]) else f"{value}; {text}"


def _marks(marks: Sequence[Twin]) -> Iterator[str]:
    rows = [(quantity(m["start"], "s"), m["kind"], m["channel"], m["text"]) for m in marks[:_SHOWN_MARKS]]
    yield from columns(rows)
    if len(marks) > _SHOWN_MARKS:
        yield from item(f"and {len(marks) - _SHOWN_MARKS} more; --json has all of them")


def _channel(channel: Twin, roles: Mapping[str, Twin]) -> tuple[str, ...]:
    span = f"{quantity(channel['start'], 's')} to {quantity(channel['end'], 's')}"
    how = "uneven" if channel["rate"] is None else f"at {quantity(channel['rate'], 'Hz')}"
    how += ", each holds until the next" if channel["holds"] else ""
    role = roles[channel["name"]]["role"] if channel["name"] in roles else ""
    return (channel["name"], channel["unit"] or "no unit", role, f"{channel['samples']} samples {how}, {span}")


def _how(guess: Twin) -> str:
    """Return the option that overrules a guess."""
    setting = guess["setting"]
    if not setting:
        return ""
    if setting in ("unit", "attenuation", "clamp", "full-scale"):
        return _held(setting, guess["channel"] or "*")
    return _held("holds/--sampled" if setting == "holds" else setting)


def _held(option: str, channel: str = "") -> str:
    """Return an option in brackets, in one piece that no line may break."""
    text = f"[--{option} '{channel}=...']" if channel else f"[--{option}]"
    return " " + text.replace(" ", "\u00a0")


def _bytes(size: int) -> str:
    for factor, unit in ((1e9, "GB"), (1e6, "MB"), (1e3, "kB")):
        if size >= factor:
            return f"{size / factor:.3g} {unit}"
    return f"{size} bytes"
