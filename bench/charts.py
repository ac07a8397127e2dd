"""Flow charts of the ready circuits: how long one takes to derive, and what it finds beside the service chart."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np

from proveout.circuits import ready_chart, ready_circuit, ready_names
from proveout.diagnosis import Belief, Shop, compile_model
from proveout.diagnosis.chart import derive_chart
from proveout.diagnosis.proof import ChartProof, prove_chart
from proveout.diagnosis.service import service_tree
from proveout.instruments import default_meter


def run() -> Iterator[tuple[str, float, str]]:
    """Yield name, value, unit.

    Costs are those up to the repair that cures, by the proofs: wrong repairs counted, both kinds of chart the same way.
    """
    seconds, minutes, money = [], [], []
    for name in ready_names():
        taken, derived, service = proofs(name)
        seconds.append(taken)
        minutes.append(derived.minutes_to_cure / service.minutes_to_cure)
        money.append(derived.money_to_cure / service.money_to_cure)
        yield f"chart_steps_{name}", float(derived.steps), "steps"
        yield f"chart_coverage_{name}", 100.0 * derived.coverage, "%"
        yield f"service_chart_coverage_{name}", 100.0 * service.coverage, "%"
        yield f"chart_minutes_to_cure_{name}", derived.minutes_to_cure, "min"
        yield f"service_chart_minutes_to_cure_{name}", service.minutes_to_cure, "min"
    yield "chart_s", max(seconds), "s"
    yield "cost_vs_service_chart_by_proof_minutes", float(np.mean(minutes)), "ratio"
    yield "cost_vs_service_chart_by_proof_money", float(np.mean(money)), "ratio"


def proofs(name: str) -> tuple[float, ChartProof, ChartProof]:
    """Return the seconds that deriving the chart of a ready circuit takes, its proof, and that of the service chart."""
    belief, shop = Belief.start(compile_model(ready_circuit(name), default_meter())), Shop()
    begun = time.perf_counter()
    chart = derive_chart(belief, shop)
    taken = time.perf_counter() - begun
    return taken, prove_chart(chart), prove_chart(service_tree(belief, ready_chart(name), shop))
