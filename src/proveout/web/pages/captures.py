"""Recorded signals: dropped files, what was guessed of them, any stretch of them, what was found, before and after."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from functools import partial
from math import isfinite
from typing import Any

import numpy as np
from markupsafe import Markup
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, Response

from proveout.captures.findings import Finding, Mark
from proveout.captures.readers import TIME_UNITS, ChannelOverrule, Overrules
from proveout.captures.roles import ROLES
from proveout.captures.twin import capture_twin
from proveout.cases.attaching import capture_event
from proveout.cases.capture_shelf import Shelved
from proveout.errors import InputError, ProveoutError
from proveout.instruments.display import engineering
from proveout.reports.trace_figure import Trace, draw_traces
from proveout.reports.wheel_figure import draw_turn, draw_wheel
from proveout.web.asked import Asked, page, posted
from proveout.web.captures import Analysed, Beside, OpenCapture
from proveout.web.languages import mark

__all__ = ["LARGEST_FILE", "ROUTES"]

LARGEST_FILE = 2 * 2**30
PATIENCE = 0.4  # seconds that a page waits for an analysis before it says that it is under way
COLUMNS = 700  # of the drawing without scripts
MOST_COLUMNS = 20_000
MOST_SHOWN = 6  # channels that are drawn unless others are chosen
DELIMITERS = {",": mark("comma"), ";": mark("semicolon"), "\t": mark("tab"), " ": mark("space"), "|": "|"}
VERDICTS = {
    "changed": mark("changed"),
    "same": mark("the same"),
    "differs": mark("differs"),
    "only now": mark("only now"),
    "only in the reference": mark("only before"),
}
ROLE_WORDS = {
    "crank sensor": mark("crank sensor"),
    "cam sensor": mark("cam sensor"),
    "wheel-speed sensor": mark("wheel-speed sensor"),
    "speed sensor": mark("speed sensor"),
    "battery voltage": mark("battery voltage"),
    "battery current": mark("battery current"),
    "analogue signal": mark("analogue signal"),
    "not used": mark("not used"),
}


def shelf(asked: Asked, message: str = "") -> Response:
    """List the captures and take a new one."""
    entries = asked.bench.captures.shelf.all()
    twin = {"captures": [_line(entry) for entry in reversed(entries)], "message": message}
    more = {"largest": LARGEST_FILE // 2**20, "case": asked.text("case")}
    return asked.show("captures.html", twin, status=422 if message else 200, more=more)


def take(asked: Asked) -> Response:
    """Receive a file; it is read beside the pages."""
    sent = asked.form.get("file")
    if not isinstance(sent, UploadFile) or not sent.size:
        return shelf(asked, asked._("No file was sent."))
    captures, name = asked.bench.captures, _shown_name(sent.filename)
    case = int(asked.text("case")) if asked.text("case").isdecimal() else None
    arrived = captures.shelf.receive(sent.file)
    token = secrets.token_hex(16)
    captures.reading.job(
        ("arriving", token), lambda progress: captures.shelf.put(arrived, name, datetime.now(UTC), case)
    )
    return asked.go(f"/captures/arriving/{token}")


def arriving(asked: Asked) -> Response:
    """Say that a file is being read, and lead to its page when it is."""
    job = asked.bench.captures.reading.known(("arriving", asked.request.path_params["token"]))
    if job is None:
        return asked.go("/captures")
    if not job.wait(PATIENCE):
        return asked.show("capture_wait.html", {"done": False}, status=202)
    try:
        entry = job.result
    except ProveoutError as error:
        return shelf(asked, str(error))
    if not isinstance(entry, Shelved):
        raise HTTPException(404)
    return asked.leave(f"/captures/{entry.number}")


def capture(asked: Asked, message: str = "") -> Response:
    """Show a capture: a stretch of it, what was found, what was guessed, another one beside it."""
    opened = _opened(asked)
    begin, end = _stretch(asked, opened)
    job = asked.bench.captures.analysed(opened.shelved.number)
    found = job.result if job.wait(PATIENCE) else None
    other, beside, waits = _beside(asked, opened)
    twin = {
        **_line(opened.shelved),
        **capture_twin(opened.capture),
        "span": list(opened.span),
        "viewer": _viewer(opened, found, other),
        "begin": begin,
        "end": end,
        "shown": list(_shown(asked, opened)),
        "analysed": found is not None,
        "findings": found.findings.as_dict() if found else None,
        "speeds": list(found.speeds) if found else [],
        "beside": other.shelved.number if other else None,
        "shift": _number(asked, "shift") or 0.0,
        "comparison": beside.comparison.as_dict() if beside else None,
        "cursors": _cursors(asked, opened),
        "message": message,
    }
    more = {
        "said": _said(opened.shelved),
        "roles": ROLE_WORDS,
        "time_units": list(TIME_UNITS),
        "delimiters": DELIMITERS,
        "others": [e for e in asked.bench.captures.shelf.all() if e.number != opened.shelved.number],
        "waits": waits,
        "figure": Markup(_figure(asked, opened, found, other, (begin, end))),
        "turns": _turns(asked, opened, beside),
        "wheels": [
            {"channel": wheel.channel, "svg": Markup(draw_wheel(wheel))}
            for wheel in (found.findings.wheels if found else ())
        ],
        "verdicts": VERDICTS,
        "channels_found": _by_channel(found),
        "cases": [line for line in asked.bench.listing() if line["status"] != "closed"],
        "into": _into(asked, opened),
    }
    return asked.show("capture.html", twin, status=422 if message else 200, more=more)


def say(asked: Asked) -> Response:
    """Overrule what was guessed: how the file is read, what its channels stand for."""
    opened = _opened(asked)
    try:
        overrules, roles = _typed(asked, opened)
        asked.bench.captures.shelf.say(opened.shelved.number, overrules, roles)
    except InputError as error:
        return capture(asked, str(error))
    return asked.go(f"/captures/{opened.shelved.number}")


def attach(asked: Asked) -> Response:
    """Put a capture into a case, at one of its measurements, as evidence."""
    opened = _opened(asked)
    bench, case = asked.bench, asked.text("into")
    if not case.isdecimal() or int(case) not in bench.desk.store.cases():
        return capture(asked, asked._("Choose the case that it belongs to."))
    job = bench.captures.analysed(opened.shelved.number)
    if not job.wait(PATIENCE):
        return capture(asked, asked._("The signal is still being analysed. Attach it in some seconds."))
    try:
        with bench.writing:
            event = capture_event(
                bench.case(int(case)).state,
                opened.capture,
                job.result.findings,
                asked.text("measurement"),
                overrules=opened.shelved.overrules,
                channel=asked.text("at_leads") or None,
                note=asked.text("note"),
                disturbed=bool(asked.text("wiggled")),
            )
            bench.desk.record(int(case), event)
            bench.captures.shelf.belongs(opened.shelved.number, int(case))
    except ProveoutError as error:
        return capture(asked, str(error))
    return asked.go(f"/cases/{case}")


def envelope(asked: Asked) -> Response:
    """Send least and most of columns of equal time: for each channel asked for, columns x 2 numbers of 32 bits."""
    opened = _opened(asked)
    begin, end = _number(asked, "begin"), _number(asked, "end")
    columns = int(_number(asked, "columns") or COLUMNS)
    if begin is None or end is None or not 1 <= columns <= MOST_COLUMNS:
        raise InputError(f"an envelope has a beginning, an end and 1 to {MOST_COLUMNS} columns")
    parts = [opened.extremes(k, begin, end, columns).astype("<f4") for k in _listed(asked, opened)]
    content = np.stack(parts).tobytes() if parts else b""
    # Said to be packed already: packing it would take longer than sending it on this machine.
    return Response(content, media_type="application/octet-stream", headers={"content-encoding": "identity"})


def speed(asked: Asked) -> Response:
    """Send the speed of a channel's wheel: times and speeds as numbers of 64 bits, one list behind the other."""
    opened = _opened(asked)
    found = asked.bench.captures.analysed(opened.shelved.number).result
    trace = found.speeds.get(asked.text("channel"))
    if trace is None:
        raise HTTPException(404)
    every = max(1, trace.times.size // MOST_COLUMNS)
    content = np.stack([trace.times[::every], trace.speed[::every]]).astype("<f8").tobytes()
    return Response(content, media_type="application/octet-stream", headers={"content-encoding": "identity"})


def values(asked: Asked) -> Response:
    """Send the values at two cursors and their differences."""
    opened = _opened(asked)
    return asked.show("capture_values.html", {"cursors": _cursors(asked, opened)})


def figure(asked: Asked) -> Response:
    """Send the drawing of a stretch."""
    opened = _opened(asked)
    job = asked.bench.captures.analysed(opened.shelved.number)
    other, _, _ = _beside(asked, opened)
    found = job.result if job.done else None
    drawn = _figure(asked, opened, found, other, _stretch(asked, opened))
    return Response(drawn, media_type="image/svg+xml")


def file(asked: Asked) -> Response:
    """Send the file as it came, unaltered."""
    opened = _opened(asked)
    path = asked.bench.captures.shelf.archive.checked(opened.shelved.sha256)
    headers = {"content-disposition": f'attachment; filename="capture-{opened.shelved.number}"'}
    return FileResponse(path, media_type="application/octet-stream", headers=headers)


def _opened(asked: Asked) -> OpenCapture:
    number = int(asked.request.path_params["number"])
    if all(entry.number != number for entry in asked.bench.captures.shelf.all()):
        raise HTTPException(404)
    return asked.bench.captures.open(number)


def _shown_name(given: str | None) -> str:
    """Return the name of a file as it is shown: its last part, of a sensible length."""
    return (given or "").replace("\\", "/").rpartition("/")[2][:120] or "capture"


def _line(entry: Shelved) -> dict[str, Any]:
    return {
        "number": entry.number,
        "name": entry.name,
        "at": entry.at.isoformat(),
        "sha256": entry.sha256,
        "case": entry.case,
    }


def _number(asked: Asked, name: str) -> float | None:
    """Return a number of the address or the form, with a point or a comma; None where there is none."""
    text = asked.text(name).replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError as error:
        raise InputError(asked._("'{typed}' is no number").format(typed=text)) from error
    if not isfinite(value):
        raise InputError(asked._("'{typed}' is no number").format(typed=text))
    return value


def _stretch(asked: Asked, opened: OpenCapture) -> tuple[float, float]:
    """Return the stretch that is shown: as asked for, else the whole record."""
    begin, end = _number(asked, "begin"), _number(asked, "end")
    first, last = opened.span
    begin, end = first if begin is None else begin, last if end is None else end
    return (begin, end) if end > begin else opened.span


def _listed(asked: Asked, opened: OpenCapture) -> list[int]:
    """Return the channels that are asked for by number, without those that are not there."""
    count = len(opened.capture.channels)
    ticked = asked.request.query_params.getlist("channel")
    wanted = ticked or asked.text("channels").split(",")
    return list(dict.fromkeys(int(k) for k in wanted if k.isdecimal() and int(k) < count))


def _shown(asked: Asked, opened: OpenCapture) -> Iterator[int]:
    chosen = _listed(asked, opened)
    used = [k for k, c in enumerate(opened.capture.channels) if opened.shelved.roles.get(c.name) != "not used"]
    yield from chosen or used[:MOST_SHOWN]


def _figure(
    asked: Asked, opened: OpenCapture, found: Analysed | None, other: OpenCapture | None, stretch: tuple[float, float]
) -> str:
    begin, end = stretch
    shift = _number(asked, "shift") or 0.0
    traces = []
    for k in _shown(asked, opened):
        channel = opened.capture.channels[k]
        beside = None
        if other is not None:
            place = _counterpart(opened, other, k)
            if place is not None:
                beside = other.extremes(place, begin - shift, end - shift, COLUMNS)
        traces.append(Trace(channel.name, channel.unit, opened.extremes(k, begin, end, COLUMNS), beside))
    marks: tuple[Mark, ...] = found.findings.marks if found else ()
    return draw_traces(traces, begin, end, marks, title=opened.shelved.name)


def _counterpart(opened: OpenCapture, other: OpenCapture, channel: int) -> int | None:
    """Return the other capture's channel of the same name, else the one in the same place with the same unit."""
    mine, theirs = opened.capture.channels[channel], other.capture.channels
    named = next((k for k, c in enumerate(theirs) if c.name == mine.name), None)
    if named is not None:
        return named
    return channel if channel < len(theirs) and theirs[channel].unit == mine.unit else None


def _beside(asked: Asked, opened: OpenCapture) -> tuple[OpenCapture | None, Beside | None, bool]:
    """Return the capture that is laid beside, the comparison with it, and whether that is still being made."""
    wanted = asked.text("beside")
    captures = asked.bench.captures
    known = {entry.number for entry in captures.shelf.all()} - {opened.shelved.number}
    if not wanted.isdecimal() or int(wanted) not in known:
        return None, None, False
    other = captures.open(int(wanted))
    job = captures.beside(opened.shelved.number, int(wanted))
    if not job.wait(PATIENCE):
        return other, None, True
    try:
        return other, job.result, False
    except InputError:
        return other, None, False


def _cursors(asked: Asked, opened: OpenCapture) -> dict[str, Any] | None:
    """Return the values at the cursors a and b and their differences; None where no cursor stands."""
    times = [_number(asked, "a"), _number(asked, "b")]
    if times == [None, None]:
        return None
    rows = []
    for k in _shown(asked, opened):
        channel = opened.capture.channels[k]
        at = [None if t is None else opened.value_at(k, t) for t in times]
        known = at[0] is not None and at[1] is not None
        rows.append(
            {
                "channel": channel.name,
                "unit": channel.unit,
                "a": at[0],
                "b": at[1],
                "difference": (at[1] or 0.0) - (at[0] or 0.0) if known else None,
            }
        )
    apart = None if None in times else (times[1] or 0.0) - (times[0] or 0.0)
    rate = 1.0 / abs(apart) if apart else None
    return {"a": times[0], "b": times[1], "apart": apart, "per_second": rate, "channels": rows}


def _said(entry: Shelved) -> dict[str, Any]:
    """Return what was said about a capture, as the form shows it."""
    return {**asdict(entry.overrules), "roles": dict(entry.roles)}


def _typed(asked: Asked, opened: OpenCapture) -> tuple[Overrules, dict[str, str]]:
    """Return what the form says; InputError where it cannot be."""
    channels, roles = {}, {}
    for k, channel in enumerate(opened.capture.channels):
        role = asked.text(f"role.{k}")
        if role in ROLES:
            roles[channel.name] = role
        said = ChannelOverrule(
            unit=asked.text(f"unit.{k}") or None,
            attenuation=_number(asked, f"attenuation.{k}"),
            clamp=_number(asked, f"clamp.{k}"),
        )
        if said != ChannelOverrule():
            channels[channel.name] = said
    holds = {"hold": True, "sampled": False}.get(asked.text("holds"))
    delimiter = {"tab": "\t", "space": " "}.get(asked.text("delimiter"), asked.text("delimiter"))
    overrules = Overrules(
        rate=_number(asked, "rate"),
        time_unit=asked.text("time_unit") or None,
        delimiter=delimiter or None,
        decimal=asked.text("decimal") or None,
        holds=holds,
        channels=channels,
    )
    return overrules, roles


def _turns(asked: Asked, opened: OpenCapture, beside: Beside | None) -> list[dict[str, Any]]:
    """Return both captures over one turn of the wheel, drawn once."""
    if beside is None:
        return []
    found, drawn = beside.comparison, []
    for name, sides in beside.turns.items():
        key = (found.now.sha256, found.reference.sha256, opened.shelved, name)
        unit = opened.capture.channel(name).unit
        svg = asked.bench.captures.drawn.made(repr(key), partial(draw_turn, name, unit, *sides))
        drawn.append({"channel": name, "svg": Markup(svg)})
    return drawn


def _into(asked: Asked, opened: OpenCapture) -> dict[str, Any] | None:
    """Return the case that the capture may be put into, with its measurements; None where none is chosen."""
    wanted = asked.text("into") or (str(opened.shelved.case) if opened.shelved.case else "")
    if not wanted.isdecimal() or int(wanted) not in asked.bench.desk.store.cases():
        return None
    circuit = asked.bench.case(int(wanted)).state.circuit
    measurements = {name: m.title or name for name, m in circuit.measurements.items()}
    return {"case": int(wanted), "circuit": circuit.title, "measurements": measurements}


def _viewer(opened: OpenCapture, found: Analysed | None, other: OpenCapture | None) -> dict[str, Any]:
    """Return what the drawing by script needs: where each channel lies, what is marked, what is laid beside."""
    places = range(len(opened.capture.channels))
    return {
        "address": f"/captures/{opened.shelved.number}",
        "span": list(opened.span),
        "channels": [{"name": c.name, "unit": c.unit} for c in opened.capture.channels],
        "marks": [
            {"kind": m.kind, "channel": m.channel, "start": m.start, "end": m.end}
            for m in (found.findings.marks if found else ())
        ],
        "speeds": list(found.speeds) if found else [],
        "beside": f"/captures/{other.shelved.number}" if other else "",
        "counterparts": [_counterpart(opened, other, k) if other else None for k in places],
    }


def _by_channel(found: Analysed | None) -> Mapping[str, list[dict[str, Any]]]:
    """Return the findings of each channel, in the order in which they were told."""
    rows: dict[str, list[dict[str, Any]]] = {}
    for finding in found.findings.findings if found else ():
        told = {"name": finding.name, "value": _value(finding), "text": finding.text, "start": finding.start}
        rows.setdefault(finding.channel, []).append(told)
    return rows


def _value(finding: Finding) -> str:
    if finding.value is None or finding.word:
        return finding.word
    spread = f" ± {_amount(finding.uncertainty, finding.unit)}" if finding.uncertainty else ""
    return _amount(finding.value, finding.unit) + spread


def _amount(value: float, unit: str) -> str:
    if unit == "turn/s":
        return f"{60.0 * value:.4g} rpm"
    return engineering(value, unit) if unit and unit != "1" else f"{value:.4g}"


ROUTES = (
    *page("/captures", shelf),
    *posted("/captures", take, files=1),
    *page("/captures/arriving/{token}", arriving),
    *page("/captures/{number:int}", capture),
    *posted("/captures/{number:int}", say),
    *posted("/captures/{number:int}/attach", attach),
    *page("/captures/{number:int}/envelope", envelope, twin=False),
    *page("/captures/{number:int}/speed", speed, twin=False),
    *page("/captures/{number:int}/values", values),
    *page("/captures/{number:int}/figure.svg", figure, twin=False),
    *page("/captures/{number:int}/file", file, twin=False),
)
