"""The names of a circuit by kind, as lines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from proveout.cli.lines import bold, columns, minutes

__all__ = ["KINDS", "steps_lines"]

_TITLES = {
    "measure": "Measure: proveout reading NAME VALUE",
    "watch": "Watch: proveout saw NAME OUTCOME",
    "look": "Look: proveout saw NAME OUTCOME",
    "try": "Try: proveout saw NAME OUTCOME",
}
KINDS = (*_TITLES, "access", "setup", "repair")


def steps_lines(twin: dict[str, Any], only: str | None = None) -> Iterator[str]:
    """Yield the names of a circuit by kind."""
    for kind, title in _TITLES.items():
        rows = [(s["name"], s["title"] + _outcomes(s["outcomes"])) for s in twin["steps"] if s["kind"] == kind]
        yield from _section(title, rows, show=only in (None, kind))
    rows = [(a["name"], f"{a['title']}, {minutes(a['minutes'])}") for a in twin["access"]]
    yield from _section("Take off: proveout access NAME", rows, show=only in (None, "access"))
    rows = [(s["name"], s["title"]) for s in twin["setups"]]
    yield from _section("Set-up: proveout setup NAME", rows, show=only in (None, "setup"))
    rows = [(s["name"], f"{s['title']}: {s['repair']}, {minutes(s['minutes'])}") for s in twin["suspects"]]
    yield from _section("Repair: proveout repair NAME", rows, show=only in (None, "repair"))


def _outcomes(outcomes: dict[str, str]) -> str:
    return ": " + ", ".join(f"{name} ({text})" for name, text in outcomes.items()) if outcomes else ""


def _section(title: str, rows: list[tuple[str, str]], *, show: bool) -> Iterator[str]:
    if rows and show:
        yield bold(title)
        yield from columns(rows)
