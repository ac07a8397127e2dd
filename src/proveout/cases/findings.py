"""When a suspect may be called the cause and its repair proven: a guess must not pass as a finding."""

from __future__ import annotations

from proveout.cases.case_state import CaseState
from proveout.cases.events import FindingAccepted, RepairProven, made
from proveout.cases.names import find_outcome, find_step
from proveout.cases.repair_work import suspect_of
from proveout.diagnosis import Belief
from proveout.diagnosis.advice import CONCLUDED
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.evidence import OutcomeSeen
from proveout.errors import BlockedError

__all__ = ["accept", "guess_warning", "prove"]


def accept(belief: Belief, state: CaseState, suspect: str | None, because: str) -> FindingAccepted:
    """Return the finding of a suspect; of the one advised to be repaired, else of the leading one, when none is named.

    Raises
    ------
    InputError
        There is no such suspect.
    BlockedError
        Its probability does not make it a conclusion, no reason is given, and the advice was not to repair it.
    """
    advised = state.advised.step if state.advised is not None and state.advised.step_kind == "repair" else ""
    name = suspect_of(state.circuit, suspect or advised or belief.suspects()[0].suspect).name
    chance = _chance(belief, name)
    if chance < CONCLUDED and not because and name != advised:
        raise BlockedError(
            f"'{name}' has a probability of {chance_text(chance)}, and a finding needs {chance_text(CONCLUDED)}: go on "
            "with 'proveout next', or say with --because what carries it"
        )
    return FindingAccepted(suspect=name, probability=min(chance, 1.0), because=because)


def guess_warning(belief: Belief, state: CaseState, suspect: str) -> str:
    """Return what is to be said before a suspect is repaired on a guess; empty where it is a finding, or could be."""
    named = suspect_of(state.circuit, suspect)
    if state.finding is not None and suspect_of(state.circuit, state.finding.suspect).name == named.name:
        return ""
    chance = _chance(belief, named.name)
    return "" if chance >= CONCLUDED else f"no accepted finding; {named.title} has {chance_text(chance)}"


def prove(state: CaseState, outcome: str, minutes: float | None = None) -> RepairProven:
    """Return the proof of the repair that waits for one, from the outcome of the circuit's proof behaviour.

    Raises
    ------
    InputError
        The behaviour has no such outcome.
    BlockedError
        No repair waits for its proof.
    """
    if state.repair is None:
        raise BlockedError("there is no repair to prove: note it first with 'proveout repair SUSPECT'")
    circuit, behaviour = state.circuit, state.circuit.proof
    after = find_outcome(circuit, find_step(circuit, behaviour, ("watch",)), outcome)
    cured = circuit.behaviours[behaviour].outcomes[after].good
    return made(
        RepairProven,
        suspect=state.repair.suspect,
        behaviour=behaviour,
        before=_before(state, behaviour),
        after=after,
        cured=cured,
        minutes=minutes,
    )


def _chance(belief: Belief, name: str) -> float:
    """Return the probability of a suspect; a pair that the evidence never called for has none."""
    return belief.probability(name) if "+" not in name or name in belief.model.suspect_index else 0.0


def _before(state: CaseState, behaviour: str) -> str:
    """Return the outcome of a behaviour noted last before the repair, empty when there is none."""
    seen = [e.outcome for e in state.evidence if isinstance(e, OutcomeSeen) and e.name == behaviour]
    return seen[-1] if seen else ""
