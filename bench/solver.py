"""Operating points per second: the batched solver against ngspice in process, on the same netlists in the same run.

Both do what the product needs: every part in turn takes many values, and all node voltages are read at each. ngspice
alters the part, solves and is read; the product solves all of it as one batch, filling the batch included.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.network import ELEMENTS, Netlist, PartState, Placed, solve_steady
from reference.shared_ngspice import ACCURACY, ngspice

__all__ = ["run"]

Voltages = npt.NDArray[np.float64]

LEAKAGE = 1.0e9
RANGE = (0.01, 1.0e6)  # of the value that each resistor takes in turn [ohm]
VALUES = 400
REPEATS = 5
AGREEMENT = 1e-3  # volt


@dataclass(frozen=True)
class Harness:
    """A network of 12 nodes, ground included: a battery, resistors, diodes (saturation [A], width [V])."""

    resistors: Sequence[tuple[str, str, float]]
    diodes: Sequence[tuple[str, str]] = ()
    emf: float = 12.6
    inner: float = 0.01
    saturation: float = 1.0e-12
    width: float = 0.03


# An invented three-wire sensor circuit: feed, two connectors, three wires, pull-up, sensor, loads.
RESISTORS = (
    ("bat", "ign", 0.02),
    ("ign", "ref", 470.0),
    ("ref", "ref_e", 0.005),
    ("ref_e", "ref_s", 0.08),
    ("ref_s", "sens_ref", 0.005),
    ("sens_ref", "sens_low", 1000.0),
    ("sens_low", "low_s", 0.005),
    ("low_s", "low_e", 0.08),
    ("low_e", "gnd", 0.05),
    ("ref", "sig_e", 2200.0),
    ("sig_e", "sig_s", 0.08),
    ("sig_s", "sens_out", 0.005),
    ("sens_out", "sens_low", 60.0),
    ("sig_e", "gnd", 2.2e5),
    ("ign", "gnd", 10.0),
)
NETWORKS: Mapping[str, Harness] = {
    "linear": Harness(RESISTORS),
    "with_junctions": Harness(RESISTORS, (("sig_e", "ref"), ("gnd", "sig_e"))),
}


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the speed of both solvers and their ratio, for each network."""
    for name, harness in NETWORKS.items():
        spice_time, spice = _best(by_ngspice, harness)
        product_time, product = _best(by_product, harness)
        points = spice.shape[1]
        apart = float(np.abs(spice - product).max())
        if apart > AGREEMENT:
            raise RuntimeError(f"the solvers differ by {apart:.3g} V on the {name} network; the speeds mean nothing")
        suffix = "" if name == "linear" else f"_{name}"
        yield f"solver_speedup_vs_ngspice{suffix}", spice_time / product_time, "1"
        yield f"ngspice_point_us{suffix}", 1e6 * spice_time / points, "us"
        yield f"solver_point_us{suffix}", 1e6 * product_time / points, "us"
        yield f"solvers_apart{suffix}", apart, "V"


def _best(work: Callable[[Harness], Voltages], harness: Harness) -> tuple[float, Voltages]:
    """Return the least processor time of several runs [s] (others may be using the machine), and the voltages."""
    best = float("inf")
    for _ in range(REPEATS):
        begin = time.process_time()
        voltages = work(harness)
        best = min(best, time.process_time() - begin)
    return best, voltages


def _values() -> Voltages:
    return np.geomspace(*RANGE, VALUES)


def by_ngspice(harness: Harness) -> Voltages:
    """Return the voltages (node, point) of every resistor at every value, by ngspice."""
    engine = ngspice()
    names = _node_names(harness)
    short = {"gnd": "0"} | {node: f"n{k}" for k, node in enumerate(names)}
    engine.load(_lines(harness, short))
    columns = []
    for k, (_, _, good) in enumerate(harness.resistors):
        for value in _values().tolist():
            engine.alter(f"r{k}", value)
            engine.operating_point()
            columns.append(engine.scalars(short[node] for node in names))
        engine.alter(f"r{k}", good)
    return np.array(columns).T


def _lines(harness: Harness, short: Mapping[str, str]) -> list[str]:
    thermal = 0.025865
    model = f".model dm d(is={harness.saturation!r} n={harness.width / thermal!r} bv=40 ibv=1e-15)"
    options = " ".join(f"{name}={value!r}" for name, value in ACCURACY.items())
    lines = ["harness", f".options {options} temp=27 tnom=27", model]
    lines += [f"v1 emf 0 dc {harness.emf!r}", f"ri {short['bat']} emf {harness.inner!r}"]
    lines += [f"r{k} {short[a]} {short[b]} {value!r}" for k, (a, b, value) in enumerate(harness.resistors)]
    lines += [f"d{k} {short[a]} {short[b]} dm" for k, (a, b) in enumerate(harness.diodes)]
    lines += [f"rl{k} {node} 0 {LEAKAGE!r}" for k, node in enumerate(short.values()) if node != "0"]
    return [*lines, ".end"]


def _node_names(harness: Harness) -> list[str]:
    ends = [node for a, b, _ in harness.resistors for node in (a, b)]
    return [node for node in dict.fromkeys(ends) if node != "gnd"]


def by_product(harness: Harness) -> Voltages:
    """Return the voltages (node, point) of every resistor at every value, by the product."""
    netlist, states = _network(harness)
    values, count = _values(), len(harness.resistors)
    batch = netlist.batch(states, count * len(values))
    for k in range(count):
        columns = slice(k * len(values), (k + 1) * len(values))
        netlist.vary(batch, 1 + k, columns, PartState({"resistance": values}))
    effort = solve_steady(netlist, batch).effort
    return effort[[netlist.node[node] for node in _node_names(harness)]]


def _network(harness: Harness) -> tuple[Netlist, list[PartState]]:
    battery, resistor, diode = ELEMENTS["battery"], ELEMENTS["resistor"], ELEMENTS["diode"]
    parts = [Placed("battery", battery, ("bat", "gnd"))]
    parts += [Placed(f"r{k}", resistor, (a, b)) for k, (a, b, _) in enumerate(harness.resistors)]
    parts += [Placed(f"d{k}", diode, (a, b)) for k, (a, b) in enumerate(harness.diodes)]
    junction = {"saturation": harness.saturation, "width": harness.width, "breakdown": 40.0, "bypass": float("inf")}
    states = [PartState({"emf": harness.emf, "resistance": harness.inner})]
    states += [PartState({"resistance": value}) for _, _, value in harness.resistors]
    states += [PartState(junction) for _ in harness.diodes]
    return Netlist(parts, "gnd", LEAKAGE), states
