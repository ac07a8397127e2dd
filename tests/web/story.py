"""The demo case worked on the page: what is answered to every step that the page asks for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import httpx

from proveout.demo.opening import demo_readings, demo_scenario
from web.visitor import Visitor

_MOST_STEPS = 30
_SEEN = {"look": "looks", "watch": "behaviours", "try": "trials"}


def harness_fields(connector: str) -> dict[str, str]:
    """Return the form of a harness check, every cavity as the invented vehicle has it."""
    seen = demo_readings()["harness"][connector]
    return {"connector": connector, **{f"cavity.{cavity}": colours for cavity, colours in seen.items()}}


def reading_of(name: str, when: str = "before") -> str:
    """Return what the meter shows on the invented vehicle."""
    return str(demo_readings()["measurements"][name][when]["shown"])


def outcome_of(kind: str, name: str, when: str = "before") -> str:
    """Return what is seen on the invented vehicle."""
    return str(demo_readings()[_SEEN[kind]][name][when])


def answer(visitor: Visitor, case: int = 1) -> httpx.Response | None:
    """Do what the page of the case advises; return its answer, None where a repair is advised or nothing is."""
    twin = visitor.data(f"/cases/{case}.json")
    action, seen = twin["next"], {"seen": str(twin["last"])}
    if action["do"] == "harness":
        return visitor.send(f"/cases/{case}/harness", {**harness_fields(action["harness"][0]["connector"]), **seen})
    if action["do"] != "step" or action["advice"]["best"]["kind"] == "repair":
        return None
    best = action["advice"]["best"]
    if best["kind"] == "measure":
        return visitor.send(f"/cases/{case}/reading", {"name": best["name"], "typed": reading_of(best["name"]), **seen})
    told = {"name": best["name"], "outcome": outcome_of(best["kind"], best["name"]), **seen}
    return visitor.send(f"/cases/{case}/outcome", told)


def work(visitor: Visitor, case: int = 1) -> Iterator[httpx.Response]:
    """Do what is advised until a repair is advised; yield each answer."""
    for _ in range(_MOST_STEPS):
        done = answer(visitor, case)
        if done is None:
            return
        yield done


def repair_fields() -> dict[str, Any]:
    """Return the form of the repair that was really done."""
    truth = demo_scenario()["repair"]
    return {name: str(truth[name]) for name in ("suspect", "minutes", "parts", "note")}


def words_of(answer: httpx.Response) -> str:
    """Return the words of a page, without its marks and drawings."""
    text = re.sub(r"<(svg|template|script)\b.*?</\1>", " ", answer.text, flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))
