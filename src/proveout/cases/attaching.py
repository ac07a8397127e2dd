"""A recorded file made into the event that attaches it to a case; every face attaches it here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from proveout.captures.analyse import analyse
from proveout.captures.archive import Archive
from proveout.captures.capture import Capture
from proveout.captures.findings import CaptureFindings
from proveout.captures.readers import Overrules
from proveout.cases.capture_outline import capture_outline
from proveout.cases.case_state import CaseState
from proveout.cases.events import CaptureAttached, made
from proveout.cases.names import find_step
from proveout.cases.permission import check_open, check_probing
from proveout.cases.plain_data import plain_data
from proveout.diagnosis.capture_evidence import capture_evidence, channel_for

__all__ = ["attach_file", "capture_event"]


def attach_file(
    state: CaseState,
    archive: Archive,
    file: Path,
    measurement: str,
    *,
    overrules: Overrules | None = None,
    roles: Mapping[str, str] | None = None,
    channel: str | None = None,
    note: str = "",
    minutes: float | None = None,
    disturbed: bool = False,
) -> CaptureAttached:
    """Keep a file in the archive, analyse it, and return the event that attaches it at a measurement.

    Raises
    ------
    InputError
        There is no such measurement or channel, the file cannot be read, or it shows no level.
    BlockedError
        No probing there now, or the case is closed.
    StoreError
        The archive cannot be written.
    """
    check_open(state)
    step = find_step(state.circuit, measurement, ("measure",))
    check_probing(state, step)
    said = overrules or Overrules()
    capture = archive.attach(file, said)
    findings = analyse(capture, roles)
    return capture_event(
        state, capture, findings, step.name,
        overrules=said, channel=channel, note=note, minutes=minutes, disturbed=disturbed,
    )  # fmt: skip


def capture_event(
    state: CaseState,
    capture: Capture,
    findings: CaptureFindings,
    measurement: str,
    *,
    overrules: Overrules | None = None,
    channel: str | None = None,
    note: str = "",
    minutes: float | None = None,
    disturbed: bool = False,
) -> CaptureAttached:
    """Return the event that attaches a capture which was read and analysed already; raises as `attach_file`."""
    step = find_step(state.circuit, measurement, ("measure",))
    check_probing(state, step)
    chosen = channel_for(state.circuit, step.name, {c.name: c.unit for c in capture.channels}, channel)
    capture_evidence(state.circuit, step.name, chosen, findings)
    return made(
        CaptureAttached,
        measurement=step.name,
        channel=chosen,
        name=capture.origin.name[-200:],
        sha256=capture.origin.sha256,
        findings=findings.as_dict(),
        outline=capture_outline(capture.channel(chosen), findings),
        overrules=_told(overrules) if overrules is not None else {},
        note=note,
        minutes=minutes,
        disturbed=disturbed,
    )


def _told(overrules: Overrules) -> dict[str, object]:
    """Return what was said about the file, without what was left to the reader."""
    said = {**asdict(overrules), "channels": {name: asdict(each) for name, each in overrules.channels.items()}}
    told: dict[str, object] = plain_data({key: value for key, value in said.items() if value not in (None, {}, ())})
    return told
