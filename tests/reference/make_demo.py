"""Makes the demo's sheet, readings and netlists from its scenario: `PYTHONPATH=tests python -m reference.make_demo`.

Run by hand; the same scenario gives the same files. Every voltage, resistance and current is ngspice's, on the faulted
vehicle and on the repaired one, with tolerances drawn once from the scenario's seed. The meter loads the circuit and
rounds as its file says and has no error of its own. What is looked at or tried is not computed: it is as on a sound
vehicle, but for what the scenario's truth says.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from proveout.circuits import Circuit, ready_circuit
from proveout.circuits.assemble import assemble, tolerances
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Value
from proveout.circuits.sheet import new_sheet
from proveout.circuits.sheet_answers import parse_answers
from proveout.instruments import Capability, Function, Meter, default_meter, live
from reference import Probe, Situation, SpiceNetlist, behaviour, reading, solve
from reference.readings import OVER_LIMIT, open_voltage, phases

FOLDER = Path(str(files("proveout.demo")))
STATES = ("before", "after")
HEAD = """\
# Invented, as all of the demo. Made by tests/reference/make_demo.py from scenario.yaml; change that and run it again.
# Every reading is of the ngspice circuits named beside it, as a meter shows it that has no error of its own: `value` in
# the SI unit before rounding, `shown` as a person would type it. `drawn`: this vehicle's own values, within tolerance.
"""


@dataclass
class Decks:
    """The netlists that were solved, by what they hold, so that the same circuit is kept once."""

    seed: int
    names: dict[str, str] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)

    def keep(self, netlist: SpiceNetlist, name: str, wanted: str, state: str) -> str:
        """Keep a netlist with its gates settled, and say in it what is read of it; return the name of its file."""
        on = solve(netlist).on
        body = "\n".join([f"* read {wanted}", *netlist.lines(on)[1:-1], ".op", ".end", ""])
        key = state + body
        if key not in self.names:
            self.names[key] = f"{state}/{name}.cir"
            self.texts[self.names[key]] = self._head(netlist, state) + body
        return self.names[key]

    def _head(self, netlist: SpiceNetlist, state: str) -> str:
        situation = netlist.situation
        phase = "" if situation.phase is None else f", phase {situation.phase + 1}"
        named = [f"* node {short} = {node}" for node, short in netlist.nodes.items()]
        named += [f"* part p{k} = {part}" for k, part in enumerate(netlist.parts)]
        return "\n".join(
            [
                f"* Invented demo vehicle {state} the repair; {situation.circuit.setups[situation.setup].title}{phase}",
                f"* Made by tests/reference/make_demo.py, tolerances drawn with seed {self.seed}; solved with ngspice",
                *named,
                "",
            ]
        )


@dataclass(frozen=True)
class Bench:
    """The vehicle in one state, the meter, and where netlists are kept."""

    state: str
    situation: Situation
    meter: Meter
    decks: Decks

    def measure(self, name: str) -> dict[str, Any]:
        """Return one reading with the netlists that it comes from."""
        function = Function(self.situation.circuit.measurements[name].function)
        if function.drives and live(open_voltage(self.situation, name)):
            return {"shown": "-", "value": None, "netlists": []}
        value = reading(self.situation, name, self.meter)
        shown = self.meter.show(function, value)
        kept = [{"file": file, "share": share} for share, file in self._netlists(name, function)]
        return {"shown": shown, "value": None if value == OVER_LIMIT else float(f"{value:.9g}"), "netlists": kept}

    def _netlists(self, name: str, function: Function) -> Iterator[tuple[float, str]]:
        measurement = self.situation.circuit.measurements[name]
        steps = phases(replace(self.situation, setup=measurement.setup, phase=None))
        for share, step in steps:
            netlist, wanted = self._metered(name, step, function)
            part = "" if step.phase is None else f"-{step.phase + 1}"
            yield share, self.decks.keep(netlist, name + part, wanted, self.state)

    def _metered(self, name: str, step: Situation, function: Function) -> tuple[SpiceNetlist, str]:
        measurement, capability = self.situation.circuit.measurements[name], self.meter.capability(function)
        if function is Function.AMPS:
            netlist = _on_amps(step, measurement.through, capability)
            place = list(netlist.parts).index(measurement.through)
            return netlist, f"i(vap{place})"
        points = self.situation.circuit.points
        red, black = points[measurement.red].node, points[measurement.black].node
        if function is Function.OHMS:
            netlist = _on_ohms(step, red, black, capability)
        else:
            netlist = SpiceNetlist(step, Probe(red, black, capability.input_resistance))
        return netlist, f"v({netlist.nodes[red]},{netlist.nodes[black]})"

    def signals(self) -> dict[str, list[dict[str, Any]]]:
        """Return, by signal, the netlists without a meter on which its checks are made."""
        found = {}
        for name, signal in self.situation.circuit.signals.items():
            kept = []
            for share, step in phases(replace(self.situation, setup=signal.setup, phase=None)):
                netlist = SpiceNetlist(step)
                part = "" if step.phase is None else f"-{step.phase + 1}"
                file = self.decks.keep(netlist, f"{signal.setup}-no-meter{part}", "every node", self.state)
                kept.append({"file": file, "share": share})
            found[name] = kept
        return found


def _on_amps(step: Situation, part: str, capability: Capability) -> SpiceNetlist:
    for chosen in capability.ranges:
        netlist = SpiceNetlist(step, metered={part: chosen.series_resistance})
        if abs(solve(netlist).current[part]) <= chosen.full_scale:
            break
    return netlist


def _on_ohms(step: Situation, red: str, black: str, capability: Capability) -> SpiceNetlist:
    emf = capability.open_circuit_volts
    for chosen in capability.ranges:
        netlist = SpiceNetlist(step, Probe(red, black, chosen.series_resistance, emf))
        across = solve(netlist).between(red, black)
        if across < emf and chosen.series_resistance * across / (emf - across) <= chosen.full_scale:
            break
    return netlist


def drawn_values(circuit: Circuit, rng: np.random.Generator) -> dict[tuple[str, str], float]:
    """Return this vehicle's own values: Gaussian about the sheet's, with the limits at two standard deviations."""
    found = {}
    for part, parameter, deviation, relative in tolerances(assemble(circuit)):
        given = circuit.parts[part].values[parameter]
        if not relative or not isinstance(given, Value):
            raise ValueError(f"{part}.{parameter} has no relative tolerance; draw it here as well")
        found[part, parameter] = given.value * (1.0 + deviation * float(rng.standard_normal()))
    return found


def seen_at(circuit: Circuit, truth: Mapping[str, Any]) -> dict[str, dict[str, dict[str, str]]]:
    """Return looks and trials: what a sound vehicle most often shows, but for what the truth says."""
    sound = {name: max(look.otherwise, key=lambda o: look.otherwise[o]) for name, look in circuit.looks.items()}
    looks = {name: {"before": truth["looks"].get(name, good), "after": good} for name, good in sound.items()}
    trials = {name: {"before": truth["trials"].get(name, "same")} for name in circuit.trials}
    return {"looks": looks, "trials": trials}


def make(scenario: Mapping[str, Any]) -> tuple[str, dict[str, Any], Decks]:
    """Return the text of the sheet, the readings, and the netlists."""
    base = ready_circuit(scenario["sheet"]["from"])
    text = new_sheet(base, parse_answers(base, scenario["sheet"]["answers"].items()))
    circuit, truth, meter = read_circuit(text, scenario["circuit"]), scenario["truth"], default_meter()
    drawn = drawn_values(circuit, np.random.default_rng(truth["seed"]))
    fault = (truth["part"], truth["mode"], float(truth["severity"]))
    decks = Decks(truth["seed"])
    first = next(iter(circuit.setups))
    benches = [
        Bench(state, Situation(circuit, first, None, faults, drawn), meter, decks)
        for state, faults in zip(STATES, ([fault], []), strict=True)
    ]
    readings = {
        "invented": True,
        "seed": truth["seed"],
        "meter": meter.name,
        "drawn": {f"{part}.{parameter}": float(f"{value:.6g}") for (part, parameter), value in drawn.items()},
        "harness": {
            name: {item.cavity: colour_text(item.colours) for item in expected_cavities(circuit, name)}
            for name in circuit.connectors
        },
        "behaviours": {
            name: {bench.state: behaviour(bench.situation, name) for bench in benches} for name in circuit.behaviours
        },
        **seen_at(circuit, truth),
        "measurements": {
            name: {bench.state: bench.measure(name) for bench in benches} for name in circuit.measurements
        },
        "signals": {bench.state: bench.signals() for bench in benches},
    }
    return text, readings, decks


def write(folder: Path, scenario: Mapping[str, Any]) -> None:
    """Write all files beside the scenario; netlists of an earlier run are dropped."""
    text, readings, decks = make(scenario)
    (folder / scenario["circuit"]).write_text(text, encoding="utf-8")
    body = yaml.safe_dump(readings, sort_keys=False, allow_unicode=True, width=140, default_flow_style=None)
    (folder / scenario["readings"]).write_text(HEAD + body, encoding="utf-8")
    shutil.rmtree(folder / "netlists", ignore_errors=True)
    for name, deck in decks.texts.items():
        file = folder / "netlists" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(deck, encoding="ascii")


if __name__ == "__main__":
    write(FOLDER, yaml.safe_load((FOLDER / "scenario.yaml").read_text(encoding="utf-8")))
