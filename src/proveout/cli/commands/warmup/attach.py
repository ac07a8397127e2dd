"""`proveout warmup attach`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.captures.archive import Archive
from proveout.captures.readers import Overrules
from proveout.cases.warm_up_entries import warm_up_events
from proveout.cli.effect import effect_twin
from proveout.cli.options import AMOUNT, JobCommand, say
from proveout.cli.record_lines import effect_lines
from proveout.cli.warm_up_source import fitted, warm_up_lines, warm_up_twin, with_trace
from proveout.cli.workplace import Workplace, with_workplace

__all__ = ["attach"]


@click.command(
    "attach",
    cls=JobCommand,
    examples=(
        "proveout warmup attach drive.csv --minutes 20",
        "proveout warmup attach --points '0:18 3:37 6:55 9:71 12:84 15:88' --unit C --ambient 12 --drive town",
    ),
)
@with_trace
@click.option("--minutes", type=AMOUNT, help="The real time the drive took.")
@with_workplace
def attach(
    place: Workplace,
    file: Path | None,
    points: str | None,
    unit: str | None,
    ambient: float | None,
    kind: str | None,
    rating: float,
    minutes: float | None,
) -> None:
    """Fit a warm-up and enter what it tells into the case, as readings with their uncertainty.

    They answer the measurements of the circuit that a fitted trace can answer. The file itself is kept unaltered under
    its fingerprint. Where the drive ended before the valve opened, its opening temperature is no reading.
    """
    state = place.state()
    fit, finding = fitted(file, points, unit, ambient, kind, rating)
    source = "typed points" if file is None else _kept(place, file)
    done = [place.record(event) for event in warm_up_events(state, finding, source, minutes)]
    twin = {"warm_up": warm_up_twin(fit, finding), "entries": [effect_twin(place, entry) for entry in done[:-1]]}
    say(twin, _lines, as_json=place.as_json)


def _kept(place: Workplace, file: Path) -> str:
    origin = Archive(place.captures).attach(file, Overrules()).origin
    return f"{origin.name} (SHA-256 {origin.sha256[:16]})"


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from warm_up_lines(twin["warm_up"])
    for entry in twin["entries"]:
        yield ""
        yield from effect_lines(entry)
