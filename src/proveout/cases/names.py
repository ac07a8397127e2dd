"""Finds what a typed name means in a circuit; a name that is not there is answered with the nearest one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

from proveout.circuits.finding import choices, closest
from proveout.circuits.schema import Circuit
from proveout.diagnosis.steps import TRIAL_OUTCOMES, Step, steps_of
from proveout.errors import InputError

__all__ = ["StepKind", "find_access", "find_outcome", "find_setup", "find_step", "outcomes_of", "pick"]

StepKind = Literal["measure", "look", "watch", "try"]
_WORDS: Mapping[StepKind, str] = {
    "measure": "measurement",
    "look": "look",
    "watch": "behaviour",
    "try": "trial",
}


def pick(name: str, known: Iterable[str], what: str) -> str:
    """Return `name` when it is known.

    Raises
    ------
    InputError
        It is not; the message gives the nearest name or the choices.
    """
    names = list(known)
    if name in names:
        return name
    near = closest(name, names)
    advice = f"did you mean '{near}'?" if near else f"choose one of: {choices(names, most=40)}"
    raise InputError(f"no {what} '{name}' in this circuit; {advice}")


def find_step(circuit: Circuit, name: str, kinds: Iterable[StepKind]) -> Step:
    """Return the step of one of these kinds that has this name; InputError when there is none."""
    wanted = tuple(kinds)
    steps = {step.name: step for step in reversed(steps_of(circuit)) if step.kind in wanted}
    return steps[pick(name, steps, " or ".join(_WORDS[kind] for kind in wanted))]


def outcomes_of(circuit: Circuit, step: Step) -> dict[str, str]:
    """Return name: text of what may be seen of a behaviour, a look or a trial; nothing for a measurement."""
    if step.kind == "watch":
        return {name: outcome.title for name, outcome in circuit.behaviours[step.name].outcomes.items()}
    if step.kind == "look":
        return dict(circuit.looks[step.name].outcomes)
    return dict(TRIAL_OUTCOMES) if step.kind == "try" else {}


def find_outcome(circuit: Circuit, step: Step, name: str) -> str:
    """Return the outcome of a step; InputError when the step has no such outcome."""
    return pick(name, outcomes_of(circuit, step), f"outcome of '{step.name}'")


def find_access(circuit: Circuit, name: str) -> str:
    """Return the name of an access operation; InputError when there is none."""
    return pick(name, circuit.access, "access operation")


def find_setup(circuit: Circuit, name: str) -> str:
    """Return the name of a set-up; InputError when there is none."""
    return pick(name, circuit.setups, "set-up")
