"""What a scope would record on a faulted circuit: levels from ngspice in each phase, a wheel that switches them."""

from __future__ import annotations

import numpy as np

from captures.synthetic import CutWheel, Motion, cranking, missing_teeth
from proveout.captures.analyse import analyse
from proveout.captures.capture import Capture, Channel, Clock, Origin
from proveout.captures.findings import CaptureFindings
from proveout.circuits import ready_circuit
from proveout.circuits.schema import Circuit
from reference import Fault, Situation
from reference.readings import phases
from reference.spice_netlist import Probe, SpiceNetlist, solve

__all__ = ["levels_of_phases", "recorded", "trace"]

SCOPE = 1.0e6
WHEEL = missing_teeth(60, 2)


def levels_of_phases(circuit: Circuit, measurement: str, faults: tuple[Fault, ...]) -> tuple[float, ...]:
    """Return the voltage at a measurement in each phase of its set-up, a scope across it, by ngspice."""
    placed = circuit.measurements[measurement]
    red, black = (circuit.points[name].node for name in (placed.red, placed.black))
    situation = Situation(circuit, placed.setup, faults=faults)
    return tuple(
        solve(SpiceNetlist(step, Probe(red, black, SCOPE))).between(red, black) for _, step in phases(situation)
    )


def trace(
    values: tuple[float, ...],
    rng: np.random.Generator,
    *,
    wheel: CutWheel = WHEEL,
    motion: Motion | None = None,
    rate: float = 20_000.0,
    noise: float = 0.02,
    gone: tuple[tuple[float, float], ...] = (),
    otherwise: tuple[float, ...] = (),
) -> np.ndarray:
    """Return samples [V] that pass between the lowest and the highest phase as the wheel's teeth pass.

    The lowest is over a tooth, as an open collector has it. From when to when [s] the signal is `gone` it takes the
    levels of `otherwise`.
    """
    motion = motion or cranking(220, 8, ripple=0.25)
    times = np.arange(motion.times[0], motion.times[-1], 1 / rate)
    angle = motion.angle(times) % 1.0
    tooth = np.zeros(times.size, dtype=bool)
    for rise, fall in zip(wheel.rise, wheel.fall, strict=True):
        tooth |= (angle >= rise) & (angle < fall)
    samples = np.where(tooth, min(values), max(values))
    for first, last in gone:
        inside = (times >= first) & (times < last)
        samples[inside] = np.where(tooth, min(otherwise), max(otherwise))[inside]
    return samples + rng.normal(0.0, noise, samples.size)


def recorded(
    name: str,
    measurement: str,
    *faults: Fault,
    seed: int = 1,
    gone: tuple[tuple[float, float], ...] = (),
) -> tuple[Circuit, CaptureFindings]:
    """Return what is found in a recording of a ready circuit; with `gone` the faults show only then."""
    circuit = ready_circuit(name)
    faulty = levels_of_phases(circuit, measurement, faults)
    steady = levels_of_phases(circuit, measurement, ()) if gone else faulty
    samples = trace(steady, np.random.default_rng(seed), gone=gone, otherwise=faulty)
    channel = Channel("A", "V", samples.astype(np.float32), Clock(rate=20_000.0))
    return circuit, analyse(Capture((channel,), Origin("made.csv", "csv", 0, "0" * 64)))
