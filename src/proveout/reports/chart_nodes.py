"""From a chart of the diagnosis to the plain tree that is drawn and printed."""

from __future__ import annotations

from typing import Literal

from proveout.circuits.lead_words import lead_words
from proveout.circuits.schema import Circuit
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.chart import Chart, ChartEnd, ChartStep
from proveout.reports.chart_tree import ChartNode

__all__ = ["chart_nodes"]

_VERBS = {"measure": "Measure", "look": "Look", "watch": "Watch", "try": "Try"}
_FUNCTIONS = {
    "volts_dc": "volts DC",
    "volts_ac": "volts AC",
    "ohms": "ohms",
    "amps": "amps in series",
    "amps_clamp": "amps by clamp",
    "scope_low": "scope, low level",
    "scope_high": "scope, high level",
    "scope_swing": "scope, swing",
    "vacuum_gauge": "vacuum gauge",
    "pressure_gauge": "pressure gauge",
    "thermometer": "thermometer",
    "infrared": "infrared thermometer",
    "count": "count",
}


def chart_nodes(chart: Chart) -> ChartNode:
    """Return the chart as a tree of boxes; a node that several results lead to is one box."""
    return _node(chart.root, chart.start.model.circuit, {})


def _node(node: ChartStep | ChartEnd, circuit: Circuit, made: dict[int, ChartNode]) -> ChartNode:
    if node.number not in made:
        made[node.number] = _end(node) if isinstance(node, ChartEnd) else _step(node, circuit, made)
    return made[node.number]


def _step(node: ChartStep, circuit: Circuit, made: dict[int, ChartNode]) -> ChartNode:
    step = node.step
    lines = [f"{_VERBS[step.kind]}: {step.title}"]
    if step.setup:
        lines.append(circuit.setups[step.setup].title)
    if step.kind == "measure":
        lines.append(_leads(circuit, step.name))
    lines.append(f"{node.minutes:.0f} min")
    children = tuple((branch.label, _node(branch.target, circuit, made)) for branch in node.branches)
    return ChartNode(str(node.number), tuple(lines), "action", children)


def _leads(circuit: Circuit, name: str) -> str:
    measurement = circuit.measurements[name]
    function = _FUNCTIONS[measurement.function]
    if measurement.through:
        return f"{function} through {circuit.parts[measurement.through].title or measurement.through}"
    words = lead_words(circuit, measurement)
    return f"{function}, {words}" if words else function


def _end(node: ChartEnd) -> ChartNode:
    left = tuple(f"{chance_text(o.probability)} {o.title}" for o in node.left)
    kind: Literal["finding", "stop"] = "finding" if node.suspect and node.settled else "stop"
    return ChartNode(str(node.number), (node.title, *(left if len(left) > 1 or not node.settled else ())), kind)
