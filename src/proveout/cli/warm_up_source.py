"""Where a warm-up trace comes from, as options: a log file, or points typed by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar

import click

from proveout.captures.readers import read
from proveout.cli.lines import labelled, paragraph
from proveout.diagnosis.warmup import KINDS, WarmUpFinding, WarmUpFit, drive_of, finding_of, fit_warm_up
from proveout.scan import log_of, typed_log

__all__ = ["fitted", "warm_up_lines", "warm_up_twin", "with_trace"]

Command = TypeVar("Command", bound=Callable[..., Any])
ZERO_CELSIUS = 273.15
LAST = 8  # rows of the table of traces

_OPTIONS = (
    click.argument("file", required=False, type=click.Path(path_type=Path)),
    click.option("--points", help="Points read off a display in place of a file, minutes:temperature."),
    click.option(
        "--unit", type=click.Choice(["C", "F"]), help="Unit of the temperatures; for typed points it must be said."
    ),
    click.option(
        "--ambient", type=float, help="Temperature of the air outside in °C, where the trace does not say it."
    ),
    click.option(
        "--drive", "kind", type=click.Choice(sorted(KINDS)), help="Kind of drive, where engine data are missing."
    ),
    click.option(
        "--rating", type=float, default=88.0, show_default=True, help="Where the thermostat should open, in °C."
    ),
)


def with_trace(command: Command) -> Command:
    """Add the argument and the options of a trace."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def fitted(
    file: Path | None, points: str | None, unit: str | None, ambient: float | None, kind: str | None, rating: float
) -> tuple[WarmUpFit, WarmUpFinding]:
    """Return the fit of a trace and what it says.

    Raises
    ------
    InputError
        The file or the points cannot be used; see `proveout.scan` and `proveout.diagnosis.warmup.drive_of`.
    """
    if (file is None) == (points is None):
        raise click.UsageError("give either a log file or --points")
    if points is not None:
        log = typed_log(points, unit or "", ambient)
    else:
        log = log_of(read(file or Path()))
        log = log.in_fahrenheit() if unit == "F" else log
        log = log if ambient is None else log.with_ambient(ambient)
    fit = fit_warm_up(drive_of(log, kind or ""))
    return fit, finding_of(fit, rating + ZERO_CELSIUS)


def warm_up_twin(fit: WarmUpFit, finding: WarmUpFinding) -> dict[str, Any]:
    """Return a fit as plain data, temperatures in °C, shares in percent."""
    low, middle, high = (float(t) - ZERO_CELSIUS for t in fit.opening)
    rows = [round(k * (fit.times.size - 1) / LAST) for k in range(LAST + 1)]
    healthy = finding.healthy.coolant - ZERO_CELSIUS
    return {
        "verdict": finding.verdict,
        "sentences": list(finding.sentences),
        "notes": list(fit.drive.notes),
        "opening": {"low": low, "middle": middle, "high": high, "reached": fit.reached},
        "leakage": dict(zip(("low", "middle", "high"), (100.0 * float(s) for s in fit.leakage_span), strict=True)),
        "trace": [
            {
                "minute": float(fit.times[k]) / 60.0,
                "logged": float(fit.readings[k]) - ZERO_CELSIUS,
                "sound": [float(x) for x in _at(healthy, finding.healthy.times, float(fit.times[k]))],
            }
            for k in dict.fromkeys(rows)
        ],
    }


def _at(traces: Any, times: Any, time: float) -> Any:
    return traces[:, min(int(times.searchsorted(time)), times.size - 1)]


def warm_up_lines(twin: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a trace says, then the trace beside the sound one."""
    for sentence in twin["sentences"]:
        yield from paragraph(sentence)
    yield ""
    yield f"  {'minute':>6} {'logged':>8} {'sound thermostat':>20}"
    for row in twin["trace"]:
        low, middle, high = row["sound"]
        yield f"  {row['minute']:6.1f} {row['logged']:6.0f} °C {middle:8.0f} °C ({low:.0f} to {high:.0f})"
    for note in twin["notes"]:
        yield from labelled("Note", note)
