"""Which parts lie between two points, against an enumeration of all simple paths."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.circuits.assemble import assemble, phases_of
from proveout.circuits.schema import Part
from proveout.diagnosis.reach import parts_between

Edge = tuple[str, str, str]


def simple_paths(edges: list[Edge], at: str, goal: str, gone: frozenset[str]) -> Iterator[frozenset[str]]:
    """Yield the edges of every path that visits no node twice."""
    if at == goal:
        yield frozenset()
        return
    for a, b, name in edges:
        for here, there in ((a, b), (b, a)):
            if here == at and there not in gone:
                for rest in simple_paths(edges, there, goal, gone | {there}):
                    yield rest | {name}


@pytest.mark.parametrize("seed", range(40))
def test_parts_on_any_path_of_a_random_network(seed: int) -> None:
    rng = np.random.default_rng(seed)
    nodes = [f"n{k}" for k in range(6)] + ["gnd"]
    parts, edges = {}, []
    for k in range(9):
        a, b = (str(n) for n in rng.choice(nodes, 2, replace=False))
        parts[f"r{k}"] = Part(kind="resistor", nodes=[a, b])
        edges.append((a, b, f"r{k}"))
    touched = sorted({n for a, b, _ in edges for n in (a, b)})
    parts["earth"] = Part(kind="resistor", nodes=[touched[0], "gnd"])
    edges.append((touched[0], "gnd", "earth"))
    circuit = divider.model().circuit.model_copy(update={"parts": parts, "bridges": {}})
    assembly = assemble(circuit)
    red, black = (str(n) for n in rng.choice(touched, 2, replace=False))
    expected = frozenset().union(*simple_paths(edges, red, black, frozenset({red})))
    states = phases_of(assembly, "running")[0].states
    assert parts_between(assembly, states, red, black) == expected


def test_an_unplugged_connector_takes_its_terminals_out_of_every_path() -> None:
    assembly = assemble(model("crank-hall-5v").circuit)
    states = phases_of(assembly, "both_off_key_off")[0].states
    assert parts_between(assembly, states, "ref_e", "ref_s") == {"w_ref"}
    assert "sig_to_low" in parts_between(assembly, states, "sig_e", "low_e", bridges=True)
