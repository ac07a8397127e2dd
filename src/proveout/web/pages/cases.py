"""The list of cases: open, waiting for the vehicle, closed; found again by a word."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.responses import Response

from proveout.web.asked import Asked, page
from proveout.web.languages import mark

GROUPS = {"open": mark("Open"), "waiting": mark("Waiting for the vehicle"), "closed": mark("Closed")}
_FOUND_BY = ("order", "vehicle", "identification", "plate", "customer", "concern", "circuit")


def listing(asked: Asked) -> Response:
    """Show the cases, the newest first."""
    wanted, words = asked.text("show"), asked.text("find").casefold().split()
    found = [row for row in asked.bench.listing() if all(_has(row, word) for word in words)]
    counts = {name: sum(row["status"] == name for row in found) for name in GROUPS}
    # A search shows the first group that has something, so that a closed case is found without knowing that it is.
    group = wanted if wanted in GROUPS else next((name for name in GROUPS if counts[name]), "open")
    twin = {
        "show": group,
        "find": asked.text("find"),
        "counts": counts,
        "cases": [row for row in found if row["status"] == group],
    }
    return asked.show("cases.html", twin, more={"groups": GROUPS})


def home(asked: Asked) -> Response:
    """Begin with the cases."""
    return asked.go("/cases")


def _has(row: Mapping[str, Any], word: str) -> bool:
    text = " ".join([str(row["case"]), *(str(row[name]) for name in _FOUND_BY), *row["codes"]])
    return word in text.casefold()


ROUTES = (*page("/", home, twin=False), *page("/cases", listing))
