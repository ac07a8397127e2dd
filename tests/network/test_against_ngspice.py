"""Every ready circuit, sound and under every fault, against ngspice: node voltages within 0.1 % or 1 mV.

The quick test takes every fault once, in the set-up in which the proof of repair is taken; the long one takes a low, a
middle and a high severity in every set-up and phase.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pytest

from proveout.circuits import ready_circuit
from proveout.circuits.assemble import Assembly, assemble, phases_of
from proveout.diagnosis.faults import Fault, enumerate_faults
from proveout.network import PartState, solve_steady
from reference import Situation, SpiceNetlist, solve
from reference.electrical import electrical_names

RELATIVE, ABSOLUTE = 1e-3, 1e-3


@dataclass(frozen=True)
class Variant:
    """A fault at a severity; no fault: sound. `value` is None for a fault that holds a state."""

    fault: Fault | None = None
    value: float | None = None

    def state(self, sound: PartState) -> PartState:
        """Return the faulted part's state for the product."""
        assert self.fault is not None
        mode = self.fault.mode
        if mode.forced is not None:
            return replace(sound, forced=mode.forced)
        name, value = str(mode.parameter), float(self.value or 0.0)
        changed = value * sound.values[name] if mode.relative else value
        return replace(sound, values={**sound.values, name: changed})

    @property
    def listed(self) -> list[tuple[str, str, float | None]]:
        """The fault as the reference takes it."""
        return [] if self.fault is None else [(self.fault.part, self.fault.mode.name, self.value)]


def severities(fault: Fault, every: bool) -> list[float | None]:
    """Return the middle severity of a fault mode, or its lowest, middle and highest."""
    mode = fault.mode
    if mode.forced is not None:
        return [None]
    if mode.low == mode.high:
        return [mode.low]
    middle = float(np.sqrt(mode.low * mode.high))
    return [mode.low, middle, mode.high] if every else [middle]


def variants(assembly: Assembly, every: bool) -> list[Variant]:
    """Return the sound circuit and all its faults."""
    faults = enumerate_faults(assembly)
    return [Variant(), *(Variant(fault, value) for fault in faults for value in severities(fault, every))]


def by_product(assembly: Assembly, setup: str, phase: int, chosen: Sequence[Variant]) -> npt.NDArray[np.float64]:
    """Return node voltages (node, variant) by the product's solver."""
    netlist, states = assembly.netlist, phases_of(assembly, setup)[phase].states
    batch = netlist.batch(states, len(chosen))
    for column, variant in enumerate(chosen):
        if variant.fault is not None:
            part = netlist.part[variant.fault.part]
            netlist.vary(batch, part, slice(column, column + 1), variant.state(states[part]))
    return solve_steady(netlist, batch).effort


def apart(assembly: Assembly, setup: str, phase: int, chosen: Sequence[Variant]) -> list[str]:
    """Return a line for each variant whose node voltages differ from ngspice's, with the worst node."""
    circuit, effort = assembly.circuit, by_product(assembly, setup, phase, chosen)
    nodes = [node for node in assembly.netlist.nodes if ":" not in node]
    rows = [assembly.netlist.node[node] for node in nodes]
    stepped = phase if circuit.setups[setup].phases else None
    found = []
    for column, variant in enumerate(chosen):
        point = solve(SpiceNetlist(Situation(circuit, setup, stepped, variant.listed)))
        truth = np.array([point.voltage[node] for node in nodes])
        excess = np.abs(effort[rows, column] - truth) / np.maximum(RELATIVE * np.abs(truth), ABSOLUTE)
        k = int(excess.argmax())
        if excess[k] > 1.0:
            place = f"{setup}, phase {phase}, {variant.listed or 'sound'}, node '{nodes[k]}'"
            found.append(f"{place}: {effort[rows[k], column]:.6g} V, ngspice {truth[k]:.6g} V")
    return found


@pytest.mark.parametrize("name", electrical_names())
def test_every_fault_agrees_with_ngspice_where_the_repair_is_proved(name: str) -> None:
    assembly = assemble(ready_circuit(name))
    setup = assembly.circuit.behaviours[assembly.circuit.proof].setup
    assert apart(assembly, setup, 0, variants(assembly, every=False)) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", electrical_names())
def test_every_fault_agrees_with_ngspice_in_every_set_up(name: str) -> None:
    assembly = assemble(ready_circuit(name))
    chosen = variants(assembly, every=True)
    found = [
        line
        for setup in assembly.circuit.setups
        for phase in range(len(phases_of(assembly, setup)))
        for line in apart(assembly, setup, phase, chosen)
    ]
    assert found == []
