"""`proveout cases`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from proveout.cases.twins import listing_twin
from proveout.cli.lines import columns
from proveout.cli.options import JobCommand, say
from proveout.cli.workplace import Workplace, with_store

_LATEST = 20


@click.command("cases", cls=JobCommand, examples=("proveout cases", "proveout cases --all --json"))
@click.option("--all", "every", is_flag=True, help=f"All of them, not the last {_LATEST}.")
@with_store
def cases(place: Workplace, every: bool) -> None:
    """List the cases."""
    store = place.desk.store
    numbers = store.cases()
    chosen = numbers if every else numbers[-_LATEST:]
    current = store.current()
    rows = [{**listing_twin(case, store.events(case)), "current": case == current} for case in chosen]
    say({"cases": rows, "left_out": len(numbers) - len(chosen)}, _lines, as_json=place.as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    if not twin["cases"]:
        yield "No cases yet: proveout open"
        return
    yield from columns(
        [
            (
                ">" if row["current"] else " ",
                str(row["case"]),
                row["opened_at"][:10],
                row["order"],
                row["status"],
                " ".join(filter(None, [row["vehicle"], row["circuit"]])),
            )
            for row in twin["cases"]
        ],
        "",
    )
    if twin["left_out"]:
        yield f"{twin['left_out']} earlier ones: proveout cases --all"
