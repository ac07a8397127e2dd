"""`proveout repair`."""

from __future__ import annotations

import click

from proveout.cases.case_state import CaseState
from proveout.cases.events import RepairNoted, made
from proveout.cases.findings import guess_warning
from proveout.cases.history import believe
from proveout.cases.repair_work import suspect_of
from proveout.cli.options import AMOUNT, JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace
from proveout.errors import InputError


@click.command(
    "repair", cls=JobCommand, examples=("proveout repair w_sig", "proveout repair w_sig --minutes 20 --parts 6.50")
)
@click.argument("suspect", required=False)
@click.option("--minutes", type=AMOUNT, help="The real time it took, access included; default: as planned.")
@click.option("--parts", type=AMOUNT, help="Money of the parts; default: as planned.")
@click.option("--note", default="", help="What was done.")
@with_workplace
def repair(place: Workplace, suspect: str | None, minutes: float | None, parts: float | None, note: str) -> None:
    """Note that a suspect was repaired or replaced.

    Without SUSPECT it is the finding, or the repair advised last. The next step is its proof.
    """
    state = place.state()
    name = suspect_of(state.circuit, suspect or _meant(state)).name
    event = made(RepairNoted, suspect=name, minutes=minutes, parts=parts, note=note)
    warning = guess_warning(believe(place.model(state), state), state, name)
    note_event(place, event, "proveout next, then proveout proof OUTCOME", warning)


def _meant(state: CaseState) -> str:
    if state.advised is not None and state.advised.step_kind == "repair":
        return state.advised.step
    if state.finding is not None:
        return state.finding.suspect
    raise InputError("no finding and no advised repair: type 'proveout repair SUSPECT'; 'proveout steps' lists them")
