"""Time from a circuit to its predictions, and from a recorded reading to the next advice; the same on a large harness.

All times are the processor's own (`time.process_time`): others may be using the machine. Readings are those of a drawn
fault, as the product predicts them: only the time is measured here.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bench.harness import large_harness
from proveout.circuits import Circuit, ready_circuit, ready_names
from proveout.diagnosis import Belief, Model, OutcomeSeen, ReadingTaken, Shop, StepAdvice, advise, compile_model
from proveout.diagnosis.evidence import Evidence
from proveout.diagnosis.steps import SEEN_AS
from proveout.instruments import default_meter

__all__ = ["run"]

SEED = 5_000
CASES = 4  # faults drawn for each circuit
LARGE_CASES = 12
MOST_STEPS = 6
REPEATS = 3


@dataclass(frozen=True)
class Truth:
    """A drawn fault: the row of the predictions, and the complaint that it leads to."""

    row: int
    complaint: str
    outcome: str


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the times for the ready circuits, then for the large harness."""
    compiled, stepped, actions, slowest = [], [], [], 0.0
    for name in ready_names():
        circuit = ready_circuit(name)
        in_time = any(setup.sequence for setup in circuit.setups.values())
        if in_time:
            stepped.append(_compile_seconds(circuit))
        else:
            compiled.append(min(_compile_seconds(circuit) for _ in range(REPEATS)))
        model = compile_model(circuit, default_meter())
        times = _action_times(model, CASES, np.random.default_rng(SEED))
        actions += times
        slowest = max(slowest, float(np.median(times)))
    yield "compile_s", max(compiled), "s"
    yield "compile_in_time_s", max(stepped), "s, worst circuit whose set-ups run in time"
    yield "next_action_ms", 1e3 * float(np.median(actions)), "ms"
    yield "next_action_p95_ms", 1e3 * float(np.percentile(actions, 95)), "ms"
    yield "next_action_slowest_circuit_ms", 1e3 * slowest, "ms"
    yield from _large()


def _large() -> Iterator[tuple[str, float, str]]:
    circuit = large_harness()
    begun = time.process_time()
    model = compile_model(circuit, default_meter())
    yield "big_compile_s", time.process_time() - begun, "s"
    times = _action_times(model, LARGE_CASES, np.random.default_rng(SEED))
    yield "big_next_action_ms", 1e3 * float(np.median(times)), "ms"
    yield "big_next_action_p95_ms", 1e3 * float(np.percentile(times, 95)), "ms"
    yield "big_fault_modes", float(len(model.faults)), "1"
    yield "big_nodes", float(len({node for part in circuit.parts.values() for node in part.nodes})), "1"


def _compile_seconds(circuit: Circuit) -> float:
    begun = time.process_time()
    compile_model(circuit, default_meter())
    return time.process_time() - begun


def _action_times(model: Model, cases: int, rng: np.random.Generator) -> list[float]:
    """Return the time of each step [s], from what is recorded to the advice, after the first advice of each case."""
    times: list[float] = []
    for _ in range(cases):
        truth = _draw(model, rng)
        belief = Belief.start(model)
        for past in (True, False):
            belief = belief.after(OutcomeSeen("behaviour", truth.complaint, truth.outcome, past))
        step = advise(belief, Shop()).best
        for _ in range(MOST_STEPS):
            if step.kind == "repair":
                break
            seen = _seen(model, truth, step)
            begun = time.process_time()
            belief = belief.after(seen)
            step = advise(belief, Shop()).best
            times.append(time.process_time() - begun)
    return times


def _draw(model: Model, rng: np.random.Generator) -> Truth:
    """Draw a fault and severity about which somebody would complain."""
    complaints = {n: b for n, b in model.circuit.behaviours.items() if b.kind == "complaint"}
    weights = np.array([fault.weight for fault in model.faults])
    while True:
        variant = model.predictions.variants[int(rng.choice(len(weights), p=weights / weights.sum()))]
        row = variant.first + int(rng.integers(variant.count))
        for name, behaviour in complaints.items():
            outcome, described = list(behaviour.outcomes.items())[int(model.behaviours[name][row].argmax())]
            if not described.good:
                return Truth(row, name, outcome)


def _seen(model: Model, truth: Truth, step: StepAdvice) -> Evidence:
    """Return what a step shows: the predicted reading, the likeliest outcome, no cure."""
    if step.kind == "measure":
        value = float(model.predictions.mean[truth.row, model.column[step.name]])
        return ReadingTaken(step.name, model.meter.read(model.function(step.name), value))
    if step.kind == "watch":
        outcomes = list(model.circuit.behaviours[step.name].outcomes)
        return OutcomeSeen("behaviour", step.name, outcomes[int(model.behaviours[step.name][truth.row].argmax())])
    if step.kind == "look":
        chance = model.looks[step.name][int(np.flatnonzero(model.hypotheses.row == truth.row)[0])]
        return OutcomeSeen("look", step.name, list(model.circuit.looks[step.name].outcomes)[int(chance.argmax())])
    return OutcomeSeen(SEEN_AS[step.kind], step.name, "same")
