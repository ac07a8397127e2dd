"""A case at a glance, as lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from proveout.cli.lines import bold, columns, labelled, minutes, suspects
from proveout.diagnosis.money import money_text

__all__ = ["state_lines"]

_PHASES = {
    "testing": "testing",
    "repaired": "repaired, to be proven",
    "proven": "repair proven",
    "closed": "closed",
}

_UNTOLD = ("opened", "circuit-chosen", "advice-shown")


def state_lines(twin: Mapping[str, Any]) -> Iterator[str]:
    """Yield a case: what it is about, where it stands, what was done, what it has cost."""
    vehicle = twin["vehicle"]
    name = " ".join(str(vehicle[key]) for key in ("year", "make", "model", "engine") if vehicle[key])
    yield bold(f"Case {twin['case']}: {_PHASES[twin['phase']]}" + (" (invented)" if twin["invented"] else ""))
    yield from labelled("Vehicle", " ".join(filter(None, [name, vehicle["identification"]])))
    yield from labelled("Order", twin["order"])
    yield from labelled("Concern", twin["concern"])
    yield from labelled("Complaint", "; ".join(twin["complaint_told"]))
    yield from labelled("Codes", ", ".join(twin["codes"]))
    yield from labelled("Circuit", twin["circuit"]["title"])
    yield from labelled("Taken off", ", ".join(twin["opened_access"]))
    yield from labelled("Set-up", twin["setup"] or "")
    for connector in twin["harness"]:
        verdict = "agrees" if connector["complete"] else "partly looked at" if connector["agrees"] else "MISMATCH"
        yield from labelled("Harness", "; ".join([f"{connector['connector']} {verdict}", *connector["mismatches"]]))
    yield from _done(twin)
    yield "  Suspects now"
    for line in suspects(twin["suspects"]):
        yield f"  {line}"
    yield from _cost(twin)
    if twin["finding"]:
        yield from labelled("Finding", twin["finding"]["title"])
    yield from labelled("Then", "proveout next" if twin["phase"] != "closed" else "proveout report")


def _done(twin: Mapping[str, Any]) -> Iterator[str]:
    rows = [
        (str(entry["number"]).rjust(3), entry["text"] + ("  [does not count]" if entry["problem"] else ""))
        for entry in twin["entries"]
        if entry["kind"] not in _UNTOLD
    ]
    if rows:
        yield "  Done"
        yield from columns(rows, "    ")


def _cost(twin: Mapping[str, Any]) -> Iterator[str]:
    spent, left, currency = twin["spent"], twin["left"], twin["currency"]
    whole, parts = money_text(spent["money"], currency), money_text(spent["parts"], currency)
    yield from labelled("Spent", f"{minutes(spent['minutes'])}, {whole} (parts {parts})")
    rest = [minutes(left["minutes"])] if left["minutes"] is not None else []
    rest += [money_text(left["money"], currency)] if left["money"] is not None else []
    yield from labelled("Authorised", ", ".join(f"{amount} left" for amount in rest))
