"""Work on a vehicle with a hidden fault, written into a case as on a real one: the record and the clock are the desk's.

Who works, an apprentice or the planner, makes no difference: both ask here, and the same rules bind both.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from proveout.cases.case_state import CaseState
from proveout.cases.desk import Desk, Recorded
from proveout.cases.events import (
    AccessDone,
    Closed,
    Event,
    HarnessChecked,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    SetupDone,
)
from proveout.cases.findings import prove
from proveout.cases.names import StepKind, find_access, find_setup, find_step
from proveout.cases.permission import check_open, check_probing
from proveout.cases.repair_work import suspect_of
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.diagnosis.steps import SEEN_AS
from proveout.errors import InputError
from proveout.practice.hidden import HiddenVehicle, Standing

__all__ = ["Work", "standing_of"]


def standing_of(state: CaseState, vehicle: HiddenVehicle) -> Standing:
    """Return what the entries that count did to the vehicle."""
    events = [entry.event for entry in state.entries if not entry.problem]
    mended = any(isinstance(e, RepairNoted) and vehicle.suspect.name in e.suspect.split("+") for e in events)
    trials = state.circuit.trials
    quiet = any(
        isinstance(e, OutcomeNoted) and e.what == "trial" and e.outcome == "cured" and not trials[e.name].undone
        for e in events
    )
    return Standing(mended, quiet)


@dataclass(frozen=True)
class Work:
    """One case of a desk that is about one vehicle.

    Every method raises `BlockedError` where the rules of the record do not allow the step (no probe before the harness
    check, a repair that waits for its proof, a case that was closed) and `InputError` for a name that is not there.
    """

    desk: Desk
    case: int
    vehicle: HiddenVehicle

    @property
    def state(self) -> CaseState:
        """The case as it stands."""
        return self.desk.state(self.case)

    def compare(self, connector: str) -> Recorded:
        """Look at the colours of a connector; the vehicle's are those of the drawing."""
        cavities = expected_cavities(self.state.circuit, connector)
        seen = {c.cavity: colour_text(c.colours) for c in cavities if c.colours}
        return self._record(HarnessChecked(connector=connector, seen=seen, agrees=True))

    def dismantle(self, name: str) -> Recorded:
        """Carry out an access operation, with what it requires."""
        return self._record(AccessDone(name=find_access(self.state.circuit, name)))

    def bring(self, setup: str) -> Recorded:
        """Bring the vehicle into a set-up."""
        return self._record(SetupDone(name=find_setup(self.state.circuit, setup)))

    def do(
        self, name: str, kinds: Iterable[StepKind] = ("measure", "look", "watch", "try"), *, disturbed: bool = False
    ) -> Recorded:
        """Take a measurement, look, watch or try, and note what the vehicle shows; `disturbed` while it is wiggled."""
        state = self.state
        check_open(state)
        step = find_step(state.circuit, name, kinds)
        standing, vehicle = standing_of(state, self.vehicle), self.vehicle
        if step.kind == "measure":
            check_probing(state, step)
            reading = vehicle.measure(step.name, self._times(state, step.name), standing, disturbed=disturbed)
            return self._record(ReadingNoted.of(step.name, reading.shown, reading, disturbed=disturbed))
        nth, wiggled = self._times(state, step.name), disturbed and step.kind == "watch"
        if step.kind == "look":
            outcome = vehicle.look(step.name, nth, standing)
        elif step.kind == "try":
            outcome = vehicle.attempt(step.name, nth, standing)
        else:
            outcome = vehicle.watch(step.name, nth, standing, disturbed=wiggled)
        what = SEEN_AS[step.kind]
        return self._record(OutcomeNoted(what=what, name=step.name, outcome=outcome, disturbed=wiggled))

    def repair(self, suspect: str) -> Recorded:
        """Repair or replace a suspect."""
        return self._record(RepairNoted(suspect=suspect_of(self.state.circuit, suspect).name))

    def prove(self) -> Recorded:
        """Watch the proof behaviour after a repair."""
        state = self.state
        nth = len(state.proofs)
        return self._record(prove(state, self.vehicle.prove(nth, standing_of(state, self.vehicle))))

    def hand_over(self, because: str = "") -> Recorded:
        """Give the vehicle back: with a proven repair, or without one and with a reason."""
        proven = self.state.phase == "proven"
        if not proven and not because:
            raise InputError("no repair is proven: say why the vehicle is handed over all the same")
        return self._record(Closed(proven=proven, because="" if proven else because))

    def _record(self, event: Event) -> Recorded:
        return self.desk.record(self.case, event)

    @staticmethod
    def _times(state: CaseState, name: str) -> int:
        """Return how often a step was taken already."""
        events = [entry.event for entry in state.entries]
        measured = sum(isinstance(e, ReadingNoted) and e.measurement == name for e in events)
        return measured + sum(isinstance(e, OutcomeNoted) and e.name == name and not e.past for e in events)
