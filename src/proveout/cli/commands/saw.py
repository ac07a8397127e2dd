"""`proveout saw`."""

from __future__ import annotations

import click

from proveout.cases.case_state import CaseState
from proveout.cases.entering import outcome_event
from proveout.cases.names import StepKind, find_step
from proveout.cli.effect import effect_twin
from proveout.cli.options import AMOUNT, JobCommand, say
from proveout.cli.record_lines import effect_lines
from proveout.cli.workplace import Workplace, with_workplace
from proveout.diagnosis.steps import Step
from proveout.errors import InputError


@click.command(
    "saw",
    cls=JobCommand,
    examples=(
        "proveout saw late",
        "proveout saw look_at_cs clean",
        "proveout saw p0335 set --past",
        "proveout saw start late --wiggled",
    ),
)
@click.argument("what", nargs=-1, required=True, metavar="[NAME] OUTCOME")
@click.option("--past", is_flag=True, help="It was so before the vehicle came in (a complaint, a stored code).")
@click.option("--wiggled", is_flag=True, help="The harness was wiggled, warmed or shaken while it was watched.")
@click.option("--minutes", type=AMOUNT, help="The real time the step took, access and set-up included.")
@with_workplace
def saw(place: Workplace, what: tuple[str, ...], past: bool, wiggled: bool, minutes: float | None) -> None:
    """Note what was seen of a behaviour, a look or a trial.

    Without NAME it is the one advised last. A trial ends 'cured' or 'same'. 'proveout steps' lists names and outcomes.
    """
    state = place.state()
    step, outcome = _split(state, what)
    event = outcome_event(state, step.name, outcome, minutes, past=past, disturbed=wiggled)
    say(effect_twin(place, place.record(event)), effect_lines, as_json=place.as_json)


def _split(state: CaseState, words: tuple[str, ...]) -> tuple[Step, str]:
    kinds: tuple[StepKind, ...] = ("look", "watch", "try")
    if len(words) > 2:
        raise InputError(f"'{' '.join(words)}' is too much: type one name and one outcome")
    if len(words) == 2:
        return find_step(state.circuit, words[0], kinds), words[1]
    if state.advised is None or state.advised.step_kind not in kinds:
        raise InputError(
            "no look, behaviour or trial was advised last, so name it: 'proveout saw NAME OUTCOME'; "
            "'proveout steps' lists them"
        )
    return find_step(state.circuit, state.advised.step, kinds), words[0]
