"""`proveout reading`."""

from __future__ import annotations

import click

from proveout.cases.case_state import CaseState
from proveout.cases.entering import reading_event
from proveout.cases.names import find_step
from proveout.cli.effect import effect_twin
from proveout.cli.options import AMOUNT, JobCommand, say
from proveout.cli.record_lines import effect_lines
from proveout.cli.workplace import Workplace, with_workplace
from proveout.errors import InputError


@click.command(
    "reading",
    cls=JobCommand,
    examples=(
        "proveout reading 4.98",
        "proveout reading reference_at_cs 4.98 V",
        "proveout reading ref_continuity OL --minutes 4",
        "proveout reading reference_at_cs 0.4 V --wiggled",
        "proveout reading -",
    ),
)
@click.argument("what", nargs=-1, required=True, metavar="[MEASUREMENT] VALUE")
@click.option("--wiggled", is_flag=True, help="The harness was wiggled, warmed or shaken while it was read.")
@click.option("--minutes", type=AMOUNT, help="The real time the step took, access and set-up included.")
@with_workplace
def reading(place: Workplace, what: tuple[str, ...], wiggled: bool, minutes: float | None) -> None:
    """Note a reading of the meter or the scope.

    Without MEASUREMENT it is the one advised last. VALUE as the display shows it: 4.98, 0.3 ohm, 12k, 350 mV, OL;
    '-' when it could not be read.
    """
    state = place.state()
    measurement, typed = _split(state, [word.replace("\u2212", "-") for word in what])
    done = place.record(reading_event(state, measurement, typed, minutes, disturbed=wiggled))
    say(effect_twin(place, done), effect_lines, as_json=place.as_json)


def _split(state: CaseState, words: list[str]) -> tuple[str, str]:
    """Return the measurement and the text of the value; a first word that is no value must be a measurement."""
    if words[0] in state.circuit.measurements:
        if len(words) == 1:
            raise InputError(f"'{words[0]}' has no value: type 'proveout reading {words[0]} VALUE'")
        return words[0], " ".join(words[1:])
    if len(words) > 1 and words[0][0].isalpha() and words[0].casefold() not in ("ol", "open", "over"):
        return find_step(state.circuit, words[0], ("measure",)).name, " ".join(words[1:])
    advised = state.advised
    if advised is None or advised.step_kind != "measure":
        raise InputError(
            "no measurement was advised last, so name it: 'proveout reading MEASUREMENT VALUE'; "
            "'proveout steps' lists them"
        )
    return advised.step, " ".join(words)
