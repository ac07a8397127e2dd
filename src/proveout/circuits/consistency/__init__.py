"""What the schema cannot see: names that exist, numbers that agree, a network that hangs together."""

from collections.abc import Iterator

from proveout.circuits.consistency.chart import check_chart
from proveout.circuits.consistency.conditions import check_conditions
from proveout.circuits.consistency.evidence import check_evidence
from proveout.circuits.consistency.measurements import check_measurements
from proveout.circuits.consistency.network import check_network
from proveout.circuits.consistency.parts import check_parts
from proveout.circuits.consistency.places import check_places
from proveout.circuits.consistency.suspects import check_suspects
from proveout.circuits.consistency.work import check_work
from proveout.circuits.finding import Finding
from proveout.circuits.schema import Circuit

__all__ = ["CHECKS", "check_chart", "check_circuit"]

CHECKS = (
    check_parts,
    check_network,
    check_conditions,
    check_places,
    check_measurements,
    check_suspects,
    check_work,
    check_evidence,
)


def check_circuit(circuit: Circuit) -> Iterator[Finding]:
    """Yield every finding of every check."""
    for check in CHECKS:
        yield from check(circuit)
