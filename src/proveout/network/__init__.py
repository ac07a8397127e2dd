"""Small effort-flow networks and their batched solver."""

from proveout.network.elements import ELEMENTS, Element, FaultMode
from proveout.network.forward import forward
from proveout.network.netlist import Batch, Netlist, PartState, Placed
from proveout.network.observe import Adjoint, adjoint, flow_through, row_slopes, sensitivities
from proveout.network.steady import Solution, linearise, solve_steady
from proveout.network.timeline import Leg, Moment, run_timeline
from proveout.network.transient import solve_transient

__all__ = [
    "ELEMENTS",
    "Adjoint",
    "Batch",
    "Element",
    "FaultMode",
    "Leg",
    "Moment",
    "Netlist",
    "PartState",
    "Placed",
    "Solution",
    "adjoint",
    "flow_through",
    "forward",
    "linearise",
    "row_slopes",
    "run_timeline",
    "sensitivities",
    "solve_steady",
    "solve_transient",
]
