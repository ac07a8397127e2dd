"""Service charts as trees: bands by the manual's limits, and mistakes that are told."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis.ready import model, service
from proveout.circuits import ServiceChart, ready_chart
from proveout.circuits.service_chart import Step
from proveout.diagnosis import Belief, Shop
from proveout.diagnosis.chart_model import ChartEnd, ChartStep, walk
from proveout.diagnosis.evidence import BandSeen
from proveout.diagnosis.service import service_tree
from proveout.errors import InputError

NAME = "pressure-3wire"


def with_step(name: str, **leads: str) -> ServiceChart:
    """Return the ready chart with one step's leads changed."""
    chart = ready_chart(NAME)
    old = chart.steps[name]
    new = Step(do=old.do, good=old.good, leads={**old.leads, **leads})
    return chart.model_copy(update={"steps": {**chart.steps, name: new}})


def test_a_reference_splits_at_the_manuals_limits() -> None:
    nodes = [n for n in walk(service(NAME).root) if isinstance(n, ChartStep)]
    reference = next(n for n in nodes if n.step.name == "reference_volts")
    spans = {b.label: (b.evidence.low, b.evidence.high) for b in reference.branches if isinstance(b.evidence, BandSeen)}
    assert spans["low"] == (-np.inf, 4.8)
    assert spans["good"] == (4.8, 5.2)
    assert spans["high"] == (5.2, np.inf)


def test_every_result_of_every_step_leads_somewhere() -> None:
    known = model(NAME).hypotheses.known
    for node in walk(service(NAME).root):
        if isinstance(node, ChartStep):
            total = np.sum([branch.chances for branch in node.branches], axis=0)
            assert total[known] == pytest.approx(1.0, abs=1e-9)


def test_a_chart_ends_with_repairs_of_the_circuit_or_stops() -> None:
    names = {s.name for s in model(NAME).suspects} | {""}
    assert {n.suspect for n in walk(service(NAME).root) if isinstance(n, ChartEnd)} <= names


def test_a_chart_in_a_circle_is_refused() -> None:
    start = Belief.start(model(NAME))
    with pytest.raises(InputError, match="runs in a circle"):
        service_tree(start, with_step("reference", good="ground"), Shop())


def test_a_chart_that_leads_nowhere_or_repairs_what_is_not_there_is_refused() -> None:
    start = Belief.start(model(NAME))
    with pytest.raises(InputError, match="which is no step of it"):
        service_tree(start, with_step("reference", good="nowhere"), Shop())
    with pytest.raises(InputError, match="no suspect here"):
        service_tree(start, with_step("reference", good="repair gearbox"), Shop())
