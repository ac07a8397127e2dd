"""What a person says they read, saw or compared, made into the event that notes it; every face enters it here."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from proveout.cases.case_state import CaseState
from proveout.cases.events import HarnessChecked, OutcomeNoted, ReadingNoted, made
from proveout.cases.model_cache import meter_of
from proveout.cases.names import find_outcome, find_step
from proveout.cases.permission import check_dead, check_probing
from proveout.circuits.altitude import air_pressure
from proveout.circuits.harness import compare_harness
from proveout.diagnosis.steps import SEEN_AS
from proveout.instruments import Function, Reading
from proveout.instruments.parsing import parse_reading

__all__ = ["harness_event", "outcome_event", "read_as", "reading_event", "reread"]


def read_as(state: CaseState, measurement: str, typed: str) -> Reading:
    """Return what a text is read as for a measurement of the case.

    Raises
    ------
    InputError
        There is no such measurement, or the text is no reading of it.
    """
    step = find_step(state.circuit, measurement, ("measure",))
    function = Function(state.circuit.measurements[step.name].function)
    return parse_reading(typed, function, meter_of(state), air_pressure(state.circuit))


def reading_event(
    state: CaseState, measurement: str, typed: str, minutes: float | None = None, *, disturbed: bool = False
) -> ReadingNoted:
    """Return the event of a reading.

    Raises
    ------
    InputError
        As `read_as`.
    BlockedError
        No probing there, or no ohms test there, now.
    """
    step = find_step(state.circuit, measurement, ("measure",))
    check_probing(state, step)
    check_dead(state.circuit, state.evidence, step)
    return ReadingNoted.of(step.name, typed, read_as(state, step.name, typed), minutes, disturbed=disturbed)


def reread(state: CaseState, noted: ReadingNoted, typed: str) -> dict[str, Any]:
    """Return the fields of a reading that change where another text was typed for it; raises as `read_as`."""
    taken = read_as(state, noted.measurement, typed)
    fields = ReadingNoted.of(noted.measurement, typed, taken, noted.minutes, disturbed=noted.disturbed)
    changed: dict[str, Any] = json.loads(fields.model_dump_json(exclude={"measurement"}))
    return changed


def outcome_event(
    state: CaseState,
    name: str,
    outcome: str,
    minutes: float | None = None,
    *,
    past: bool = False,
    disturbed: bool = False,
) -> OutcomeNoted:
    """Return the event of what was seen of a behaviour, a look or a trial; InputError when the circuit has it not."""
    step = find_step(state.circuit, name, ("look", "watch", "try"))
    return made(
        OutcomeNoted,
        what=SEEN_AS[step.kind],
        name=step.name,
        outcome=find_outcome(state.circuit, step, outcome),
        past=past,
        disturbed=disturbed,
        minutes=minutes,
    )


def harness_event(
    state: CaseState, connector: str, seen: Mapping[str, str], minutes: float | None = None
) -> HarnessChecked:
    """Return the event of a harness check.

    Parameters
    ----------
    seen : mapping
        Cavity: colours as typed; `-` or nothing for a cavity without a wire.

    Raises
    ------
    InputError
        An unknown connector or colour.
    """
    found = compare_harness(state.circuit, connector, seen)
    return made(
        HarnessChecked,
        connector=connector,
        seen=dict(seen),
        agrees=found.agrees,
        differences=tuple(str(mismatch) for mismatch in found.mismatches),
        minutes=minutes,
    )
