"""The belief against a Bayesian network solved by a general-purpose library (pyAgrum), on a divider without tolerances.

The network has a node for the fault, one for the cell of its severity, one for each result. Its tables come from Ohm's
law, each cell integrated numerically, with the instrument's Gaussian error by scipy.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from functools import cache
from importlib import import_module
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import norm

from diagnosis.divider import MODES, NO_FAULT, UNKNOWN, model, vehicles
from proveout.diagnosis import Belief, OutcomeSeen
from proveout.diagnosis.belief import SLIP
from proveout.diagnosis.evidence import BandSeen, Evidence
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE
from proveout.diagnosis.likelihood import reading_variance
from proveout.instruments import Function, default_meter

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library's compiled part ends the process where a warning is an error
    gum: Any = import_module("pyagrum")

Values = npt.NDArray[np.float64]
CELLS = 32
WITHIN = 21  # points of each cell that are averaged
TOLERANCE = 2e-3  # the product's Gaussian stands for an even spread within a severity cell
STATES = [*MODES, "", "unknown"]
SUSPECTS = {"pull_up": "unit", "wire": "wire", "terminal": "terminal", "sensor": "sensor", "": NO_FAULT_NOW}
THRESHOLD_SPREAD = 0.02  # of the control unit's threshold: common practice

EVIDENCE: dict[str, Sequence[Evidence]] = {
    "low at the unit": [BandSeen("at_unit", 2.0, 5.0)],
    "low at the unit, as low at the pin": [BandSeen("at_unit", 2.0, 5.0), BandSeen("at_pin", 2.0, 5.0)],
    "high at the unit, good at the pin": [BandSeen("at_unit", 6.5, 9.0), BandSeen("at_pin", 1.0, 5.9)],
    "a complaint and a good reading": [OutcomeSeen("behaviour", "gauge", "odd"), BandSeen("at_pin", 5.8, 6.2)],
    "three bands, a look and a complaint": [
        OutcomeSeen("behaviour", "gauge", "odd"),
        BandSeen("at_unit", 8.0, 12.5),
        BandSeen("at_harness", 8.0, 12.5),
        BandSeen("at_pin", 0.0, 3.0),
        OutcomeSeen("look", "look", "green"),
    ],
    "readings that contradict one another": [BandSeen("at_unit", 2.0, 5.0), BandSeen("at_harness", 7.0, 9.0)],
    "corroded to look at, sound to measure": [OutcomeSeen("look", "look", "green"), BandSeen("at_pin", 5.9, 6.1)],
}


def cell_volts(fault: str, cell: int, place: str) -> Values:
    """Voltages at evenly spread points of one severity cell."""
    low, high, _ = MODES.get(fault, (1.0, 1.0, 0.0))
    edges = np.linspace(np.log(low), np.log(high), CELLS + 1)
    width = edges[1] - edges[0]
    severity = np.exp(edges[cell] + width * (np.arange(WITHIN) + 0.5) / WITHIN)
    still = (np.zeros(WITHIN), np.zeros(WITHIN), np.zeros(WITHIN))
    return vehicles(fault, severity, still).volts(place)


def band_table(seen: BandSeen) -> Values:
    """P(in the band, not | fault, cell), (state, cell, 2); a slip falls evenly on below, within, above, over limit."""
    table = np.full((len(STATES), CELLS, 2), 0.5)
    for k, fault in enumerate(STATES):
        for cell in range(CELLS):
            table[k, cell, 0] = (
                0.25 if fault == "unknown" else _in_band(seen, cell_volts(fault, cell, seen.measurement))
            )
    table[:, :, 1] = 1.0 - table[:, :, 0]
    return table


def _in_band(seen: BandSeen, volts: Values) -> float:
    spread = [np.sqrt(reading_variance(default_meter(), Function.VOLTS_DC, float(v), 0.0)) for v in volts]
    inside = norm.cdf(seen.high, volts, spread) - norm.cdf(seen.low, volts, spread)
    return float((1.0 - SLIP) * inside.mean() + SLIP / 4.0)


def outcome_table(seen: OutcomeSeen) -> Values:
    """P(seen, not | fault, cell), (state, cell, 2)."""
    table = np.empty((len(STATES), CELLS, 2))
    for k, fault in enumerate(STATES):
        for cell in range(CELLS):
            table[k, cell, 0] = _gauge_odd(fault, cell) if seen.name == "gauge" else _green(fault)
    table[:, :, 1] = 1.0 - table[:, :, 0]
    return table


def _gauge_odd(fault: str, cell: int) -> float:
    if fault == "unknown":
        return 0.5
    volts = cell_volts(fault, cell, "at_unit")
    in_range = norm.cdf((volts - 4.0) / (4.0 * THRESHOLD_SPREAD)) * norm.cdf((8.0 - volts) / (8.0 * THRESHOLD_SPREAD))
    slip = model(False).circuit.behaviours["gauge"].slip
    return float((1.0 - slip) * (1.0 - in_range.mean()) + 0.5 * slip)


def _green(fault: str) -> float:
    return 0.8 if fault == "terminal.resistive" else 0.05


@cache
def prior() -> Values:
    """Relative frequencies as the circuit's file says."""
    weights = np.array([*(w for _, _, w in MODES.values())])
    whole = np.array([*(weights / weights.sum()), NO_FAULT, UNKNOWN])
    return whole / whole.sum()


def by_network(evidence: Sequence[Evidence]) -> dict[str, float]:
    """Posterior of each suspect."""
    net = gum.BayesNet()
    fault = net.add(gum.LabelizedVariable("fault", "fault", len(STATES)))
    cell = net.add(gum.LabelizedVariable("cell", "severity cell", CELLS))
    net.cpt(fault)[:] = prior()
    net.cpt(cell)[:] = np.full(CELLS, 1.0 / CELLS)
    for k, seen in enumerate(evidence):
        node = net.add(gum.LabelizedVariable(f"result{k}", "seen or not", 2))
        net.addArc(fault, node)
        net.addArc(cell, node)
        table = band_table(seen) if isinstance(seen, BandSeen) else outcome_table(seen)  # type: ignore[arg-type]
        for f in range(len(STATES)):
            for c in range(CELLS):
                net.cpt(node)[{"fault": f, "cell": c}] = table[f, c]
    solver = gum.LazyPropagation(net)
    solver.setEvidence({f"result{k}": 0 for k in range(len(evidence))})
    solver.makeInference()
    posterior = solver.posterior("fault").toarray()
    chances = dict.fromkeys([*SUSPECTS.values(), NONE_OF_THESE], 0.0)
    for state, p in zip(STATES, posterior, strict=True):
        chances[NONE_OF_THESE if state == "unknown" else SUSPECTS[state.partition(".")[0]]] += float(p)
    return chances


@pytest.mark.parametrize("case", EVIDENCE)
def test_probabilities_are_those_of_a_bayesian_network(case: str) -> None:
    belief = Belief.start(model(False))
    for seen in EVIDENCE[case]:
        belief = belief.after(seen)
    for suspect, chance in by_network(EVIDENCE[case]).items():
        assert belief.probability(suspect) == pytest.approx(chance, abs=TOLERANCE), suspect


def test_prior_probabilities_are_those_of_the_file() -> None:
    belief, by_state = Belief.start(model(False)), dict(zip(STATES, prior(), strict=True))
    assert belief.probability("terminal") == pytest.approx(by_state["terminal.resistive"])
    assert belief.probability("sensor") == pytest.approx(by_state["sensor.high"] + by_state["sensor.low"])
    assert belief.probability(NO_FAULT_NOW) == pytest.approx(by_state[""])
    assert belief.probability(NONE_OF_THESE) == pytest.approx(by_state["unknown"])
