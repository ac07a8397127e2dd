"""A case: what to do next and why, the suspects, the evidence; a step somebody chose; the record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from starlette.background import BackgroundTask
from starlette.responses import HTMLResponse, Response

from proveout.cases.advice_record import advice_event
from proveout.cases.entering import read_as
from proveout.cases.names import find_step
from proveout.cases.twins import log_twin, steps_twin
from proveout.circuits.library import ready_titles
from proveout.diagnosis import limit_band, sound_band
from proveout.diagnosis.limits import within
from proveout.errors import ProveoutError, StoreError
from proveout.web.asked import Asked, page
from proveout.web.case_view import Trouble, case_twin, case_words, missed_entries
from proveout.web.languages import mark
from proveout.web.standing import Standing
from proveout.web.workbench import Workbench

__all__ = ["PHASES", "ROUTES", "VERBS", "case_page", "keep_advice"]

PATIENCE = 0.5  # seconds that a page waits for a circuit before it says that it is being worked out
VERBS = {
    "measure": mark("Measure"),
    "look": mark("Look"),
    "watch": mark("Watch"),
    "try": mark("Try"),
    "repair": mark("Repair"),
}
FUNCTIONS = {
    "volts_dc": mark("volts DC"),
    "volts_ac": mark("volts AC"),
    "ohms": mark("ohms"),
    "amps": mark("amps, in series"),
    "amps_clamp": mark("amps, by clamp"),
    "scope_low": mark("scope, lowest level"),
    "scope_high": mark("scope, highest level"),
    "scope_swing": mark("scope, swing from lowest to highest"),
    "vacuum_gauge": mark("vacuum gauge"),
    "pressure_gauge": mark("pressure gauge"),
    "thermometer": mark("thermometer"),
    "infrared": mark("infrared thermometer"),
    "count": mark("counting"),
    "fitted_temperature": mark("fit of a logged warm-up, temperature"),
    "fitted_share": mark("fit of a logged warm-up, share"),
}
PHASES = {
    "testing": mark("Testing"),
    "repaired": mark("Repaired, to be proven"),
    "proven": mark("Repair proven"),
    "closed": mark("Closed"),
}
KEYS = {"off": mark("Key off"), "on": mark("Key on"), "crank": mark("Cranking")}
WORDS = {"verbs": VERBS, "functions": FUNCTIONS, "phases": PHASES, "keys": KEYS}


def case_page(asked: Asked, standing: Standing, chosen: str = "", trouble: Trouble | None = None) -> Response:
    """Answer with the page of a case.

    Parameters
    ----------
    chosen : str
        A step to be shown instead of the advised one.
    trouble : Trouble, optional
        Why the form that was posted was not noted.
    """
    twin = case_twin(standing, chosen)
    status = 200 if trouble is None else 409 if trouble.missed else 422
    if asked.as_data:
        return asked.show("case.html", twin, status=status)
    more = {**case_words(asked.bench, standing, twin, trouble), **WORDS}
    answer = asked.show("case.html", twin, status=status, more=more)
    if not chosen:
        standing.shown.set()
        answer.background = BackgroundTask(_afterwards, asked, standing, more["others"])
    return answer


def show_case(asked: Asked) -> Response:
    """Show a case, or the step of it that was chosen."""
    standing = asked.bench.case(asked.case)
    job = asked.bench.compiling(standing.state)
    if job is not None and not asked.as_data and not job.wait(PATIENCE):
        twin = {"case": asked.case, "circuit": standing.state.circuit.title, "share": job.share}
        return asked.show("case_wait.html", twin)
    return case_page(asked, standing, asked.text("do"))


def show_steps(asked: Asked) -> Response:
    """Show every step of the case's circuit, to take one out of order."""
    standing = asked.bench.case(asked.case)
    state = standing.state
    done = {row.entry.event.measurement for row in standing.course.rows if hasattr(row.entry.event, "measurement")}
    twin = {"case": asked.case, **steps_twin(state.circuit)}
    return asked.show("case_steps.html", twin, more={**WORDS, "done": done, "cannot": dict(state.cannot)})


def show_record(asked: Asked) -> Response:
    """Show every event of a case, also what was put right later."""
    standing = asked.bench.case(asked.case)
    twin = log_twin(asked.case, standing.events, standing.state.circuit)
    return asked.show("case_record.html", twin, more={"closed": standing.state.closed is not None})


def show_circuit(asked: Asked) -> Response:
    """Show which circuit a case has, and take another."""
    standing = asked.bench.case(asked.case)
    circuit = standing.state.circuit
    twin = {
        "case": asked.case,
        "circuit": {"name": circuit.name, "title": circuit.title},
        "circuits": dict(ready_titles()),
        "last": standing.last,
    }
    return asked.show("case_circuit.html", twin)


def show_changes(asked: Asked) -> Response:
    """Say whether a case went on since the page was shown; nothing where it did not."""
    seen = asked.text("seen")
    missed = missed_entries(asked.bench.case(asked.case), int(seen) if seen.isdecimal() else 0)
    if not missed:
        return Response(status_code=204)
    return asked.show("case_changes.html", {"case": asked.case, "missed": list(missed)})


def show_read_as(asked: Asked) -> Response:
    """Say what a typed reading will be read as, and whether that is good, before it is entered."""
    standing = asked.bench.case(asked.case)
    name, typed = asked.text("measurement"), asked.text("typed")
    if not typed:
        return HTMLResponse("")
    try:
        reading = read_as(standing.state, name, typed)
    except ProveoutError as error:
        return asked.show("read_as.html", {"message": str(error), "shown": "", "verdict": "", "good": ""})
    find_step(standing.state.circuit, name, ("measure",))
    band = limit_band(standing.model, name) or sound_band(standing.model, name)
    verdict = ""
    if reading.taken:
        verdict = "good" if within(band, reading.value, reading.over_limit) else "bad"
    return asked.show("read_as.html", {"message": "", "shown": reading.shown, "verdict": verdict, "good": band.shown})


def keep_advice(bench: Workbench, standing: Standing) -> None:
    """Keep in the record what was shown of a case as it stood; nothing where the record has it.

    A store that takes nothing now still shows its cases, and an entry that came in between has kept it already.
    """
    with suppress(StoreError), bench.writing:
        now = bench.case(standing.number)
        event = advice_event(standing.action)
        if now.last == standing.last and event is not None and event != now.state.advised:
            bench.desk.record(standing.number, event)


def _afterwards(asked: Asked, standing: Standing, others: Sequence[Mapping[str, Any]]) -> None:
    """Do what the answer need not wait for: the record of the advice, the drawings of what may come next."""
    keep_advice(asked.bench, standing)
    likely = [step["name"] for step in others if step["kind"] == "measure"]
    asked.bench.schematics.draw_ahead(standing.state.circuit, standing.state.text, likely)


ROUTES = (
    *page("/cases/{case:int}", show_case),
    *page("/cases/{case:int}/steps", show_steps),
    *page("/cases/{case:int}/record", show_record),
    *page("/cases/{case:int}/circuit", show_circuit),
    *page("/cases/{case:int}/changes", show_changes),
    *page("/cases/{case:int}/read-as", show_read_as),
)
