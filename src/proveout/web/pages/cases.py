"""The list of cases: open, waiting for the vehicle, closed; found again by a word."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.responses import Response

from proveout.cases.twins import listing_twin
from proveout.web.asked import Asked, page

GROUPS = ("open", "waiting", "closed")


def listing(asked: Asked) -> Response:
    """Show the cases, the newest first."""
    wanted, word = asked.text("show"), asked.text("find")
    group = wanted if wanted in GROUPS else "open"
    store = asked.bench.desk.store
    rows = [listing_twin(case, store.events(case)) for case in reversed(store.cases())]
    found = [row for row in rows if _has(row, word)]
    counts = {name: sum(row["status"] == name for row in found) for name in GROUPS}
    twin = {"show": group, "find": word, "counts": counts, "cases": [r for r in found if r["status"] == group]}
    return asked.show("cases.html", twin)


def home(asked: Asked) -> Response:
    """Begin with the cases."""
    return asked.go("/cases")


def _has(row: Mapping[str, Any], word: str) -> bool:
    return word.casefold() in " ".join(map(str, row.values())).casefold()


ROUTES = (*page("/", home, twin=False), *page("/cases", listing))
