"""Whether a step is allowed now: no probe goes in before the harness was checked, nothing is added to a closed case."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.cases.case_state import CaseState
from proveout.cases.circuit_change import seen_settings
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import HarnessComparison, expected_cavities
from proveout.circuits.schema import Circuit
from proveout.diagnosis.evidence import Evidence, ReadingTaken
from proveout.diagnosis.steps import Step
from proveout.errors import BlockedError
from proveout.instruments import check_ohms_safe

__all__ = ["check_dead", "check_open", "check_probing", "harness_command", "put_right_command", "unchecked"]


def unchecked(state: CaseState, connectors: frozenset[str]) -> tuple[str, ...]:
    """Return those of the connectors whose coloured cavities have not all been looked at."""
    return tuple(name for name in sorted(connectors) if _unseen(state, name))


def check_probing(state: CaseState, step: Step) -> None:
    """Check that the leads of a step may be put where it says.

    Raises
    ------
    BlockedError
        A connector it touches was not checked against the sheet, or disagrees with it.
    """
    for connector in sorted(step.connectors & state.mismatched):
        found = state.harness[connector]
        listed = "; ".join(str(mismatch) for mismatch in found.mismatches)
        raise BlockedError(
            f"no probing at {connector}: the harness disagrees with the sheet ({listed}). Look again, and type "
            f"'{harness_command(state.circuit, connector)}' with what is there; or put the sheet right with "
            f"'{put_right_command(state.circuit, found)}'"
        )
    for connector in unchecked(state, step.connectors):
        raise BlockedError(
            f"no probing at {connector} before its colours were compared with the sheet: type "
            f"'{harness_command(state.circuit, connector)}', each cavity with the colours that you see"
        )


def check_dead(circuit: Circuit, evidence: Sequence[Evidence], step: Step) -> None:
    """Check that an ohms test is not put where this case has measured a voltage in the same set-up.

    Raises
    ------
    BlockedError
        The last voltage read between the same two places is too high for an ohms test.
    """
    ohms = circuit.measurements.get(step.name) if step.kind == "measure" else None
    if ohms is None or ohms.function != "ohms":
        return
    places = {circuit.points[ohms.red].node, circuit.points[ohms.black].node}
    for taken in reversed([e for e in evidence if isinstance(e, ReadingTaken) and e.reading.value is not None]):
        volts = circuit.measurements[taken.measurement]
        same = volts.function == "volts_dc" and volts.setup == ohms.setup
        if same and {circuit.points[volts.red].node, circuit.points[volts.black].node} == places:
            check_ohms_safe(taken.reading.value or 0.0, step.title)
            return


def check_open(state: CaseState) -> None:
    """Check that the case is open; BlockedError when it was closed."""
    if state.closed is not None:
        raise BlockedError(
            "this case is closed: open a new one with 'proveout open', or take the closing back with 'proveout undo'"
        )


def harness_command(circuit: Circuit, connector: str) -> str:
    """Return the command that notes the colours of a connector, with what the sheet expects."""
    cavities = [f"{c.cavity}={colour_text(c.colours)}" for c in expected_cavities(circuit, connector) if c.colours]
    return " ".join(["proveout harness", connector, *cavities])


def put_right_command(circuit: Circuit, found: HarnessComparison) -> str:
    """Return the command that writes into the sheet what was seen."""
    settings = [f"--set {key}={value}" for key, value in seen_settings(circuit, found).items()]
    return " ".join(["proveout sheet", *(settings or ["FILE"])])


def _unseen(state: CaseState, connector: str) -> bool:
    coloured = {item.cavity for item in expected_cavities(state.circuit, connector) if item.colours}
    return bool(coloured - set(state.seen.get(connector, {})))
