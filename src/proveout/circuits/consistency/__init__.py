"""What the schema cannot see: names that exist, numbers that agree, a network that hangs together."""

from collections.abc import Iterator

from proveout.circuits.consistency.chart import check_chart
from proveout.circuits.consistency.conditions import check_conditions
from proveout.circuits.consistency.evidence import check_evidence
from proveout.circuits.consistency.measurements import check_measurements
from proveout.circuits.consistency.network import check_network
from proveout.circuits.consistency.parts import check_parts
from proveout.circuits.consistency.places import check_cavities, check_places
from proveout.circuits.consistency.suspects import check_suspects
from proveout.circuits.consistency.work import check_work
from proveout.circuits.finding import Finding, Path
from proveout.circuits.schema import Circuit

__all__ = ["CHECKS", "check_chart", "check_circuit"]

CHECKS = (
    check_parts,
    check_cavities,
    check_network,
    check_conditions,
    check_places,
    check_measurements,
    check_suspects,
    check_work,
    check_evidence,
)


def check_circuit(circuit: Circuit) -> Iterator[Finding]:
    """Yield every finding of every check, but none that only follows from those of an earlier check."""
    doubtful: set[tuple[str, str]] = set()
    for check in CHECKS:
        found = [finding for finding in check(circuit) if finding.about not in doubtful]
        yield from found
        doubtful.update(topic for finding in found for topic in _doubts(circuit, finding.path))


def _doubts(circuit: Circuit, path: Path) -> Iterator[tuple[str, str]]:
    """Yield what can no longer be judged of all parts once there is a mistake at `path`."""
    if path[0] != "parts":
        return
    field = path[2] if len(path) > 2 else "cavity"
    if field == "nodes":
        yield "parts", "*nodes"
    elif field in {"connector", "cavity"} or (field == "kind" and circuit.parts[str(path[1])].connector):
        yield "parts", "*cavities"
