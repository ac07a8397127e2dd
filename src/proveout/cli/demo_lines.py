"""The demo as lines: what is done, with which leads, what came of it, what is believed now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from proveout.cli.lines import bold, labelled, minutes, paragraph
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.money import money_text

__all__ = ["closing_lines", "opening_lines", "step_lines"]

Twin = Mapping[str, Any]


def opening_lines(twin: Twin) -> Iterator[str]:
    """Yield the case as it came in."""
    vehicle = twin["vehicle"]
    name = " ".join(str(vehicle[key]) for key in ("year", "make", "model", "engine") if vehicle[key])
    yield bold(f"The demo case. {'Everything in it is invented.' if twin['invented'] else ''}".rstrip())
    yield from labelled("Vehicle", name)
    yield from labelled("Concern", twin["concern"])
    yield from labelled("Codes", ", ".join(twin["codes"]))
    yield from labelled("Circuit", twin["circuit"]["title"])
    left = [minutes(twin["left"]["minutes"])] if twin["left"]["minutes"] is not None else []
    left += [money_text(twin["left"]["money"], twin["currency"])] if twin["left"]["money"] is not None else []
    yield from labelled("Authorised", ", ".join(left))


def step_lines(twin: Twin) -> Iterator[str]:
    """Yield one step."""
    done, advice = twin["done"], twin["advice"]
    effect = done["effect"]
    yield ""
    yield bold(f"{done['number']:>2}  {done['text']}")
    yield from labelled("Taken off", "; ".join(done["opened_access"]))
    if advice is not None:
        yield from labelled("Set-up", advice["setup_steps"][0] if advice["setup_steps"] else "")
        if advice["leads"]:
            yield from labelled("Leads", f"red {advice['leads']['red_title']}, black {advice['leads']['black_title']}")
    if effect["expected"]:
        manual = f"; the manual says {effect['limit']['shown']}" if effect["limit"] else ""
        yield from labelled("Good is", effect["expected"]["shown"] + manual)
    yield from labelled("", effect["limit_note"])
    yield from labelled("Rules out", ", ".join(effect["ruled_out"]))
    if effect["consequence"]:
        listed = [f"{o['title']} {chance_text(o['probability'])}" for o in effect["suspects"][:3]]
        yield from labelled("Now", ", ".join(listed))
    yield from labelled("Spent", minutes(done["minutes"]) if done["minutes"] else "")


def closing_lines(twin: Twin) -> Iterator[str]:
    """Yield what it came to and where the report lies."""
    case = twin["case"]
    spent = case["spent"]
    yield ""
    yield bold("Proven and closed.")
    yield from paragraph(twin["closing"])
    cost = f"{minutes(spent['minutes'])}, {money_text(spent['money'], case['currency'])} with parts"
    yield from labelled("Spent", cost)
    yield from labelled("Report", twin["files"][0])
    yield from labelled("", twin["files"][1])
