"""What the page of a case shows: its twin, and beside it what only the page needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, cast, get_args

from proveout.cases.case_state import CaseState
from proveout.cases.circuit_change import seen_settings
from proveout.cases.correction_text import log_text
from proveout.cases.events import AdviceShown, ReadingNoted
from proveout.cases.names import StepKind, find_step, outcomes_of, pick
from proveout.cases.permission import unchecked
from proveout.cases.repair_work import repair_minutes, suspect_of
from proveout.cases.twins import connector_twin, history_twin, next_twin, state_twin
from proveout.cases.twins.advice_twin import step_twin
from proveout.circuits.repairs import NO_FAULT_NOW, NONE_OF_THESE, access_closure
from proveout.circuits.schema import Circuit, Setup
from proveout.diagnosis import describe_repair, describe_step
from proveout.errors import InputError
from proveout.web.standing import Standing
from proveout.web.workbench import Workbench

__all__ = ["Trouble", "case_twin", "case_words", "missed_entries"]

Shown = Literal["harness", "step", "repair", "prove", "close", "closed"]
_MOST_SUSPECTS = 12
_LEAST_CHANCE = 5e-4
_NO_REPAIR = (NO_FAULT_NOW, NONE_OF_THESE)


@dataclass(frozen=True)
class Trouble:
    """Why a form was not noted, with everything that was typed into it.

    Attributes
    ----------
    form : str
        Which form it was: the last word of the address it went to.
    message : str
        What is wrong; empty where only the case went on meanwhile.
    missed : tuple of str
        What came into the case since the form was shown.
    typed : mapping
        Field: what was typed.
    """

    form: str
    message: str = ""
    missed: tuple[str, ...] = ()
    typed: Mapping[str, str] = field(default_factory=dict)


def case_twin(standing: Standing, chosen: str = "") -> dict[str, Any]:
    """Return the twin of a case's page.

    Parameters
    ----------
    chosen : str
        A step that is to be shown instead of the advised one, as `measure.NAME`; empty for the advised one.

    Raises
    ------
    InputError
        The circuit has no such step.
    """
    state, number = standing.state, standing.number
    suspects = standing.belief.suspects()
    return {
        "case": state_twin(number, state, suspects),
        "next": next_twin(number, state, standing.action),
        "chosen": _described(standing, chosen) if chosen else None,
        "evidence": [
            {**history_twin(row, state.circuit), "at": row.entry.at.isoformat(), "kind": row.entry.event.kind}
            for row in standing.course.rows
            if not isinstance(row.entry.event, AdviceShown)
        ],
        "last": standing.last,
    }


def case_words(
    bench: Workbench, standing: Standing, twin: Mapping[str, Any], trouble: Trouble | None = None
) -> dict[str, Any]:
    """Return what only the HTML of a case's page needs."""
    state = standing.state
    step = twin["chosen"] or (twin["next"]["advice"] or {}).get("best")
    if twin["chosen"] is None and state.phase == "testing" and state.finding is not None:
        step = _repair_of(standing, state.finding.suspect)
    shown = _shown(twin, step)
    connectors = _connectors(state, step) if shown in ("step", "harness") else ()
    measurement = step["name"] if step and step["kind"] == "measure" and shown in ("step", "harness") else None
    setup = _setup(state, step, shown)
    return {
        "shown": "harness" if connectors else shown,
        "step": step,
        "do": f"{step['kind']}.{step['name']}" if step else "",
        "outcomes": _outcomes(state.circuit, step),
        "compare": [_compare(state, name) for name in connectors],
        "all_mismatched": [_compare(state, name) for name in sorted(state.mismatched)],
        "mismatches": [_mismatch(state, name) for name in sorted(state.mismatched)],
        "suspects": [_suspect(standing, o) for o in twin["case"]["suspects"] if o["probability"] >= _LEAST_CHANCE][
            :_MOST_SUSPECTS
        ],
        "effect": _effect(twin["evidence"]),
        "again": _again(state) if shown == "prove" else None,
        "access": _access(state, step),
        "setup": _setup_words(state, setup),
        "drawing": bench.schematics.draw(state.circuit, state.text, measurement, setup),
        "repairable": step is not None and step["name"] not in _NO_REPAIR,
        "accepted": state.finding is not None and step is not None and _same(state, step["name"]),
        "others": [] if twin["chosen"] or twin["next"]["advice"] is None else twin["next"]["advice"]["others"],
        "trouble": trouble,
        "displaced": trouble is not None
        and trouble.form not in _forms("harness" if connectors else shown, step, state),
    }


def _forms(shown: Shown, step: Mapping[str, Any] | None, state: CaseState) -> frozenset[str]:
    """Return the forms that a page shows, each with the place of its own trouble."""
    by_shown: dict[Shown, tuple[str, ...]] = {
        "harness": ("harness", "access", "cannot"),
        "step": ("reading" if step and step["kind"] == "measure" else "outcome", "access", "cannot"),
        "repair": ("access", "finding", "repair", "close"),
        "prove": ("proof",),
        "close": ("close",),
        "closed": (),
    }
    always = ("note",) if state.closed is None else ()
    return frozenset({*by_shown[shown], *always, *(("sheet",) if state.mismatched else ())})


def missed_entries(standing: Standing, seen: int) -> tuple[str, ...]:
    """Return what came into a case after the entry `seen`, in the words of the record."""
    later = [e for e in standing.events if e.number > seen and not isinstance(e.event, AdviceShown)]
    return tuple(f"{e.number}  {log_text(standing.events, e, standing.state.circuit)}" for e in later)


def _shown(twin: Mapping[str, Any], step: Mapping[str, Any] | None) -> Shown:
    do: Shown = twin["next"]["do"]
    if do == "closed":
        return do
    if step is None:
        return do
    return "repair" if step["kind"] == "repair" else "step"


def _described(standing: Standing, text: str) -> dict[str, Any]:
    if text not in standing.described:
        standing.described[text] = _chosen(standing, text)
    return standing.described[text]


def _chosen(standing: Standing, text: str) -> dict[str, Any]:
    """Return a step that somebody chose, as advice would describe it."""
    kind, _, name = text.partition(".")
    if kind == "repair":
        return _repair_of(standing, name)
    if kind not in get_args(StepKind):
        raise InputError(f"'{text}' names no step: choose one from the list of steps")
    advice = standing.action.advice
    for known in (advice.best, *advice.others) if advice else ():
        if (known.kind, known.name) == (kind, name):
            return step_twin(known)
    step = find_step(standing.state.circuit, name, (cast(StepKind, kind),))
    return step_twin(describe_step(standing.belief, standing.state.shop, step))


def _repair_of(standing: Standing, name: str) -> dict[str, Any]:
    """Return the repair of a suspect as a step; as it is advised where it is."""
    advice = standing.action.advice
    for known in (advice.best, *advice.others) if advice else ():
        if (known.kind, known.name) == ("repair", name):
            return step_twin(known)
    known_name = pick(name, standing.belief.model.suspect_index, "suspect")
    return step_twin(describe_repair(standing.belief, standing.state.shop, known_name))


def _connectors(state: CaseState, step: Mapping[str, Any] | None) -> tuple[str, ...]:
    """Return the connectors that must be compared with the sheet before this step's leads go on."""
    if step is None or step["kind"] != "measure":
        return ()
    touched = find_step(state.circuit, step["name"], ("measure",)).connectors
    return tuple(sorted({*unchecked(state, touched), *(touched & state.mismatched)}))


def _compare(state: CaseState, connector: str) -> dict[str, Any]:
    seen = state.seen.get(connector, {})
    return {**connector_twin(state.circuit, connector), "seen": dict(seen)}


def _mismatch(state: CaseState, connector: str) -> dict[str, Any]:
    found = state.harness[connector]
    return {
        "connector": connector,
        "title": state.circuit.connectors[connector].title,
        "all_mismatched": [_compare(state, name) for name in sorted(state.mismatched)],
        "mismatches": [str(mismatch) for mismatch in found.mismatches],
        "settings": seen_settings(state.circuit, found),
    }


def _suspect(standing: Standing, opinion: Mapping[str, Any]) -> dict[str, Any]:
    state = standing.state
    if opinion["suspect"] in _NO_REPAIR:
        return {**opinion, "minutes": None, "money": None}
    suspect = suspect_of(state.circuit, opinion["suspect"])
    minutes = repair_minutes(state.circuit, suspect, state.access)
    return {**opinion, "minutes": minutes, "money": minutes * state.opened.labour_rate / 60.0 + suspect.repair.parts}


def _effect(evidence: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """Return the last entry, with what it did; nothing at the start of a case."""
    last = evidence[-1]
    return last if last["kind"] not in ("opened", "circuit-chosen") else None


def _outcomes(circuit: Circuit, step: Mapping[str, Any] | None) -> dict[str, str]:
    if step is None or step["kind"] not in ("look", "watch", "try"):
        return {}
    return outcomes_of(circuit, find_step(circuit, step["name"], (step["kind"],)))


def _again(state: CaseState) -> dict[str, str] | None:
    """Return the measurement taken last before the repair: taken again after it, it shows that the repair held."""
    taken = [e.event.measurement for e in state.entries if isinstance(e.event, ReadingNoted) and not e.held]
    if not taken or taken[-1] not in state.circuit.measurements:
        return None
    return {"name": taken[-1], "title": find_step(state.circuit, taken[-1], ("measure",)).title}


def _access(state: CaseState, step: Mapping[str, Any] | None) -> list[dict[str, Any]]:
    """Return what a step needs dismantled, in order, with whether it is done."""
    if step is None:
        return []
    names = _access_names(state.circuit, step)
    return [
        {
            "name": n,
            "title": state.circuit.access[n].title,
            "minutes": state.circuit.access[n].minutes,
            "done": n in state.access,
        }
        for n in names
    ]


def _access_names(circuit: Circuit, step: Mapping[str, Any]) -> tuple[str, ...]:
    if step["kind"] == "repair":
        if step["name"] in _NO_REPAIR:
            return ()
        return access_closure(circuit, suspect_of(circuit, step["name"]).repair.access)
    return find_step(circuit, step["name"], (step["kind"],)).access


def _setup(state: CaseState, step: Mapping[str, Any] | None, shown: Shown) -> str | None:
    """Return the set-up that the schematic is drawn in."""
    if shown == "prove":
        return state.circuit.behaviours[state.circuit.proof].setup
    if step is not None and step["setup"]:
        return str(step["setup"])
    return state.setup


def _setup_words(state: CaseState, name: str | None) -> dict[str, Any] | None:
    """Return a set-up in words, with what is drawn as a small picture: the key, what is unplugged, what is out."""
    if name is None:
        return None
    setup: Setup = state.circuit.setups[name]
    return {
        "name": name,
        "title": setup.title,
        "key": str(setup.set.get("key", "")),
        "commands": [
            (state.circuit.conditions[condition].title or condition, value)
            for condition, value in setup.set.items()
            if condition != "key" and condition in state.circuit.conditions
        ],
        "unplugged": [(c, state.circuit.connectors[c].title) for c in setup.unplugged],
        "removed": [state.circuit.parts[p].title or p for p in setup.removed],
        "there": state.setup == name,
        "minutes": setup.minutes,
    }


def _same(state: CaseState, suspect: str) -> bool:
    finding = state.finding
    return finding is not None and suspect_of(state.circuit, finding.suspect).name == suspect
