"""`proveout warmup read`."""

from __future__ import annotations

from pathlib import Path

import click

from proveout.cli.options import JobCommand, say, with_json
from proveout.cli.warm_up_source import fitted, warm_up_lines, warm_up_twin, with_trace

__all__ = ["read_trace"]


@click.command(
    "read",
    cls=JobCommand,
    examples=(
        "proveout warmup read drive.csv",
        "proveout warmup read drive.csv --rating 82 --json",
        "proveout warmup read --points '0:18 3:37 6:55 9:71 12:84 15:88' --unit C --ambient 12 --drive town",
    ),
)
@with_trace
@with_json
def read_trace(
    file: Path | None,
    points: str | None,
    unit: str | None,
    ambient: float | None,
    kind: str | None,
    rating: float,
    as_json: bool,
) -> None:
    """Fit a warm-up and say what it tells of the thermostat.

    FILE is a log of standard on-board parameters from a cold start: coolant temperature, engine speed, air flow (or
    manifold pressure, or load), road speed, ambient temperature. Points typed by hand do as well, and tell less.
    """
    fit, finding = fitted(file, points, unit, ambient, kind, rating)
    say(warm_up_twin(fit, finding), warm_up_lines, as_json=as_json)
