"""A fitted warm-up trace as entries of a case: readings of the measurements that it answers, and a note."""

from __future__ import annotations

from proveout.cases.case_state import CaseState
from proveout.cases.events import Event, Note, ReadingNoted, made
from proveout.cases.permission import check_open
from proveout.diagnosis.warmup import WarmUpFinding
from proveout.errors import InputError
from proveout.instruments import Function, Reading

__all__ = ["warm_up_events"]


def warm_up_events(
    state: CaseState, finding: WarmUpFinding, source: str, minutes: float | None = None
) -> tuple[Event, ...]:
    """Return the events of one trace: its readings first, then the note.

    A trace in which the valve never opened gives no reading of where it opens; the note says so.

    Parameters
    ----------
    state : CaseState
    finding : WarmUpFinding
    source : str
        The file with its fingerprint, or that points were typed.
    minutes : float or None
        What the log took, for the first of the readings.

    Raises
    ------
    InputError
        If no measurement of the case's circuit is answered by a fitted trace.
    BlockedError
        If the case is closed.
    """
    check_open(state)
    answers = {
        Function.FITTED_TEMPERATURE: finding.opening,
        Function.FITTED_SHARE: _percent(finding.leakage),
    }
    places = {
        name: Function(m.function) for name, m in state.circuit.measurements.items() if Function(m.function) in answers
    }
    if not places:
        raise InputError(
            f"circuit '{state.circuit.name}' has no measurement that a fitted warm-up answers; "
            "the cooling circuits have: 'proveout circuits list' names them"
        )
    taken = [(name, answers[function]) for name, function in places.items()]
    readings = [(name, reading) for name, reading in taken if reading is not None]
    events: list[Event] = [
        ReadingNoted.of(name, _typed(reading), reading, minutes if k == 0 else None)
        for k, (name, reading) in enumerate(readings)
    ]
    return (*events, made(Note, text=" ".join((f"Warm-up from {source}.", *finding.sentences))))


def _percent(leakage: Reading) -> Reading:
    value = 100.0 * float(leakage.value or 0.0)
    shown = f"{value:.1f} % (± {100.0 * leakage.resolution / 12.0**0.5:.1f})"
    return Reading(value, False, shown, "%", 100.0 * leakage.resolution)


def _typed(reading: Reading) -> str:
    return f"{reading.value:.1f} {reading.unit}"
