"""What recording an entry did, as lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from proveout.cli.lines import bold, labelled, minutes, paragraph
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.money import money_text

__all__ = ["effect_lines", "now_lines", "record_lines"]

Twin = Mapping[str, Any]


def record_lines(twin: Twin) -> Iterator[str]:
    """Yield what was noted, what it cost, and what no longer counts because of it."""
    yield bold(f"{twin['number']}  {twin['text']}")
    spent = [minutes(twin["minutes"])] if twin["minutes"] else []
    spent += [f"parts {money_text(twin['parts'], twin['currency'])}"] if twin["parts"] else []
    yield from labelled("Taken off", "; ".join(twin["opened_access"]))
    yield from labelled("Spent", ", ".join(spent))
    for entry in twin["no_longer"]:
        yield from labelled("No longer", f"{entry['number']} {entry['text']}: {entry['problem']}")


def now_lines(suspects: Sequence[Twin]) -> Iterator[str]:
    """Yield the leading suspects with their probabilities."""
    listed = [f"{o['title']} {chance_text(o['probability'])}" for o in suspects[:3]]
    yield from labelled("Now", ", ".join(listed))


def effect_lines(twin: Twin) -> Iterator[str]:
    """Yield what was noted and what it did to the belief."""
    yield from record_lines(twin)
    effect = twin["effect"]
    if effect["verdict"]:
        limit = effect["limit"]
        by = f"the manual says {limit['shown']}" if limit else f"good is {effect['expected']['shown']}"
        yield from labelled("Limit", f"{'inside' if effect['verdict'] == 'good' else 'OUTSIDE'}; {by}")
    yield from labelled("", effect["limit_note"])
    yield from labelled("Rules out", ", ".join(effect["ruled_out"]))
    yield from now_lines(effect["suspects"])
    if effect["explained"] < 0.01:
        yield from paragraph("This fits no single explanation well: take the reading again, then check the drawing.")
    yield from labelled("Then", twin["then"])
