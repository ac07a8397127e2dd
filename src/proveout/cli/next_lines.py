"""What to do next, as lines: the action first, then how, then why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from proveout.circuits.repairs import NO_FAULT_NOW, NONE_OF_THESE
from proveout.cli.lines import bold, columns, labelled, minutes, paragraph, suspects
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.money import money_text

__all__ = ["next_lines"]

_VERBS = {"measure": "Measure", "look": "Look", "watch": "Watch", "try": "Try", "repair": "Repair"}
_FUNCTIONS = {
    "volts_dc": "volts DC",
    "volts_ac": "volts AC",
    "ohms": "ohms",
    "amps": "amps, in series",
    "amps_clamp": "amps, by clamp",
    "scope_low": "scope, lowest level",
    "scope_high": "scope, highest level",
    "scope_swing": "scope, swing from lowest to highest",
    "vacuum_gauge": "vacuum gauge",
    "pressure_gauge": "pressure gauge",
    "thermometer": "thermometer",
    "infrared": "infrared thermometer",
    "count": "counting",
}
_FEW = 2

Twin = Mapping[str, Any]


def next_lines(twin: Twin, *, others: bool, why: bool) -> Iterator[str]:
    """Yield what to do next in a case."""
    if twin["do"] == "closed":
        yield bold(f"Case {twin['case']} is closed.")
        yield from labelled("Then", "proveout report, proveout open")
    elif twin["do"] == "close":
        yield bold("The repair is proven. Write the report and close the case.")
        yield from labelled("Then", "proveout report, proveout close")
    elif twin["do"] == "prove":
        yield from _prove(twin["proof"])
    else:
        yield from _harness(twin["harness"])
        yield from _advice(twin, others=others, why=why)


def _prove(proof: Twin) -> Iterator[str]:
    yield bold(f"Prove the repair: {proof['title']}")
    yield from labelled("Set-up", proof["setup"])
    yield "  It shows     then type"
    yield from columns([(title, f"proveout proof {name}") for name, title in proof["outcomes"].items()], "    ")


def _harness(connectors: list[Twin]) -> Iterator[str]:
    for connector in connectors:
        yield bold(f"First compare the colours at {connector['connector']}: {connector['title']}")
        rows = [(c["cavity"], c["colours"] or "-", c["function"]) for c in connector["cavities"]]
        yield from columns(rows, "    ")
        seen = " ".join(f"{c['cavity']}={c['colours']}" for c in connector["cavities"] if c["colours"])
        yield from labelled("Then type", f"proveout harness {connector['connector']} {seen}")
        yield from labelled("", "with the colours that you see; no probe goes in before")
        yield ""


def _advice(twin: Twin, *, others: bool, why: bool) -> Iterator[str]:
    advice, currency = twin["advice"], twin["currency"]
    best = advice["best"]
    if advice["stop"]:
        yield bold("Stop testing.")
        yield from paragraph(advice["stop"])
    yield bold(_named(best))
    yield from _how(best)
    yield from _cost(best, currency)
    for text in best["cautions"].values():
        yield from labelled("CAUTION", text)
    yield from labelled("Doubt", advice["doubt"])
    yield from labelled("Why", best["why"])
    yield from _results(best, why=why)
    yield from _suspects(advice)
    yield from _authorised(advice)
    if others:
        yield from _others(advice["others"], currency)
    yield from labelled("Then type", best["answer"])


def _named(step: Twin) -> str:
    """Return a step with its verb; what is done when nothing is repaired carries its own."""
    standing = step["name"] in (NO_FAULT_NOW, NONE_OF_THESE)
    return str(step["title"]) if standing else f"{_VERBS[step['kind']]}: {step['title']}"


def _how(step: Twin) -> Iterator[str]:
    for access in step["access_steps"]:
        yield from labelled("Take off", access)
    for k, setup in enumerate(step["setup_steps"]):
        yield from labelled("Set-up" if k == 0 else "", setup)
    leads = step["leads"]
    if leads:
        yield from labelled("Instrument", _FUNCTIONS.get(leads["function"], leads["function"]))
        yield from labelled("Red lead", leads["red_title"])
        yield from labelled("Black lead", leads["black_title"])
        yield from labelled("In series", leads["through"])
        yield from labelled("Put to", leads["place"])
    if step["expected_good"]:
        manual = f"; the manual says {step['limit']['shown']}" if step["limit"] else ""
        yield from labelled("Good is", step["expected_good"]["shown"] + manual)
    yield from labelled("", step["limit_note"])


def _cost(step: Twin, currency: str) -> Iterator[str]:
    now = f"{minutes(step['minutes'])}, {money_text(step['money'], currency)} now"
    yield from labelled("Cost", f"{now}; {money_text(step['cost_to_end'], currency)} expected to the end")


def _results(step: Twin, *, why: bool) -> Iterator[str]:
    if not step["results"]:
        return
    yield "  If it shows"
    for result in step["results"]:
        leaves = [f"{o['title']} {chance_text(o['probability'])}" for o in result["leaves"]]
        shown = leaves if why else leaves[:_FEW]
        more = f" and {len(leaves) - len(shown)} more" if len(leaves) > len(shown) else ""
        head = f"{result['label']} ({chance_text(result['probability'])})"
        yield from paragraph(head + (f": {', '.join(shown)}{more}" if shown else ""), "    ")
        if why and result["rules_out"]:
            yield from paragraph("rules out " + ", ".join(result["rules_out"]), "      ")


def _suspects(advice: Twin) -> Iterator[str]:
    yield "  Suspects now"
    for line in suspects(advice["suspects"]):
        yield f"  {line}"
    if advice["explained"] < 0.01:
        yield from paragraph(
            f"What was read fits the best explanation poorly (p {advice['explained']:.3g}): check the drawing.", "    "
        )


def _authorised(advice: Twin) -> Iterator[str]:
    if advice["chance_within"] is not None:
        yield from labelled("Authorised", f"{chance_text(advice['chance_within'])} chance of a proven cause within it")


def _others(steps: list[Twin], currency: str) -> Iterator[str]:
    yield "  Or"
    for step in steps:
        cost = f"{minutes(step['minutes'])}, {money_text(step['cost_to_end'], currency)} to the end"
        yield from paragraph(f"{_named(step)} ({step['name']}); {cost}", "    ")
