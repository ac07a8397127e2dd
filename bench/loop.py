"""The closed loop: random faults on all ready circuits, diagnosed by the product from what ngspice's vehicles show.

Every vehicle has one steady fault and a complaint, which is confirmed before the work begins. The advice is followed to
the first repair and on to a cure. Beside it stand an observer who may take every reading for nothing, and the
fixed-order chart of the circuit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from multiprocessing import get_context

import numpy as np

from bench.chart_run import ChartRun, Clock, follow, repair_the_rest
from bench.vehicle import Case, TruthVehicle, draw_case
from proveout.circuits import chart_names, ready_chart, ready_circuit
from proveout.diagnosis import (
    Belief,
    Model,
    OutcomeSeen,
    ReadingTaken,
    RepairDone,
    Shop,
    StepAdvice,
    advise,
    compile_model,
    with_pairs,
)
from proveout.diagnosis.steps import SEEN_AS, steps_of
from proveout.instruments import default_meter
from reference.electrical import electrical_names
from reference.shared_ngspice import NgspiceError

__all__ = ["CaseResult", "run"]

CASES = 1_000
SEED = 7_000
WORKERS = 2
MOST_STEPS = 40
SURE = 0.97
BINS = 10


@dataclass
class CaseResult:
    """What happened to one vehicle: its fault, the first repair with its probability, minutes to a lasting cure.

    `closed` says that the advice itself led to the cure.
    """

    circuit: str
    fault: str
    value: float | None
    repaired: str = ""
    probability: float = 0.0
    right: bool = False
    closed: bool = False
    minutes: float = 0.0
    steps: list[str] = field(default_factory=list)
    observer_right: bool = False
    chart: ChartRun | None = None


@dataclass(frozen=True)
class CircuitResult:
    """All vehicles of one circuit."""

    circuit: str
    cases: Sequence[CaseResult]


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the figures of the closed loop."""
    yield from summary(diagnose_all(electrical_names(), CASES))


def diagnose_all(names: Sequence[str], cases: int) -> list[CircuitResult]:
    """Diagnose vehicles spread evenly over the circuits, two circuits at a time."""
    counts = [cases // len(names) + (k < cases % len(names)) for k in range(len(names))]
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as pool:
        jobs = [
            pool.submit(diagnose_circuit, name, n, SEED + k)
            for k, (name, n) in enumerate(zip(names, counts, strict=True))
        ]
        return [job.result() for job in as_completed(jobs)]


def diagnose_circuit(name: str, count: int, seed: int) -> CircuitResult:
    """Draw and diagnose `count` vehicles of one circuit."""
    circuit = ready_circuit(name)
    model = compile_model(circuit, default_meter())
    tried = [_diagnosed(model, [seed, k]) for k in range(count)]
    return CircuitResult(name, [case for case in tried if case is not None])


def _diagnosed(model: Model, seed: Sequence[int]) -> CaseResult | None:
    """Return the result of one vehicle, or None where ngspice finds no operating point: there is no truth then."""
    try:
        return diagnose(model, seed)
    except NgspiceError:
        return None


def diagnose(model: Model, seed: Sequence[int]) -> CaseResult:
    """Draw a vehicle and follow the advice on it; let the observer and the chart have the same vehicle.

    The draws of each do not depend on what the others do.
    """
    case = draw_case(model.circuit, np.random.default_rng(seed))
    first, second, third = (TruthVehicle(case, model.meter, np.random.default_rng([*seed, k])) for k in range(3))
    result = CaseResult(model.circuit.name, case.fault.reference, case.value)
    follow_advice(model, first, result)
    result.observer_right = observe_all(model, second) == case.fault.suspect
    if model.circuit.name in chart_names():
        result.chart = follow(ready_chart(model.circuit.name), model, third)
    return result


def confirmed(model: Model, case: Case) -> Belief:
    """Return the belief once the complaints are confirmed."""
    belief = Belief.start(model)
    for name, outcome in case.complaints.items():
        belief = belief.after(OutcomeSeen("behaviour", name, outcome))
    return belief


def observe_all(model: Model, vehicle: TruthVehicle) -> str:
    """Return the suspect that an observer names who has every reading, look and behaviour."""
    belief = confirmed(model, vehicle.case)
    for step in steps_of(model.circuit):
        if step.kind != "try" and not (step.kind == "watch" and step.name in vehicle.case.complaints):
            belief = belief.after(_evidence(vehicle, step.kind, step.name))
    return with_pairs(belief).suspects()[0].suspect


def follow_advice(model: Model, vehicle: TruthVehicle, result: CaseResult) -> None:
    """Do what is advised until a repair is proved, and write down how it went.

    A vehicle that leaves with its fault only made quiet comes back, and the rest is repaired without further tests.
    """
    circuit = model.circuit
    steps = {(step.kind, step.name): step for step in steps_of(circuit)}
    clock, tried = Clock(circuit), list[str]()
    belief = confirmed(model, vehicle.case)
    for _ in range(MOST_STEPS):
        shop = Shop(opened=frozenset(clock.opened), setup=clock.setup)
        belief = with_pairs(belief)
        step = advise(belief, shop, alternatives=0).best
        result.steps.append(f"{step.kind} {step.name}")
        if step.kind == "repair":
            tried.append(step.name)
            belief, proved = _repair(belief, vehicle, step, clock, result)
            if proved:
                break
        else:
            clock.take(steps[step.kind, step.name])
            evidence = _evidence(vehicle, step.kind, step.name)
            belief = belief.after(evidence)
    result.closed = vehicle.mended
    repair_the_rest(model, vehicle, clock, tried)
    result.minutes = clock.minutes


def _evidence(vehicle: TruthVehicle, kind: str, name: str) -> ReadingTaken | OutcomeSeen:
    if kind == "measure":
        return ReadingTaken(name, vehicle.measure(name))
    act: dict[str, Callable[[str], str]] = {"watch": vehicle.watch, "look": vehicle.look, "try": vehicle.attempt}
    return OutcomeSeen(SEEN_AS[kind], name, act[kind](name))


def _repair(
    belief: Belief, vehicle: TruthVehicle, step: StepAdvice, clock: Clock, result: CaseResult
) -> tuple[Belief, bool]:
    """Carry out a repair; return the belief after it and whether the proof shows a sound vehicle."""
    clock.repair(next(s for s in belief.model.suspects if s.name == step.name))
    proved = vehicle.repair(step.name)
    if not result.repaired:
        result.repaired, result.right = step.name, vehicle.mended
        result.probability = belief.probability(step.name)
    return belief.after(RepairDone(step.name, proved)), proved


def summary(results: Sequence[CircuitResult]) -> Iterator[tuple[str, float, str]]:
    """Yield the figures over all vehicles, then the isolation of each circuit."""
    cases = [case for result in results for case in result.cases]
    right = np.array([case.right for case in cases])
    chance = np.array([case.probability for case in cases])
    observer = np.array([case.observer_right for case in cases])
    yield "loop_cases", float(len(cases)), f"first seed {SEED}, of {CASES} drawn"
    yield "isolated_pct", 100.0 * float(right.mean()), "%"
    yield "isolated_vs_all_readings", float(right.mean() / observer.mean()), "ratio"
    yield "all_readings_pct", 100.0 * float(observer.mean()), "%"
    sure = chance >= SURE
    yield "concluded_pct", 100.0 * float(sure.mean()), "%"
    yield "overconfident_pct", 100.0 * float((~right[sure]).mean()) if sure.any() else 0.0, "%"
    yield "calibration_error_pct", 100.0 * calibration_error(chance, right), "%"
    yield "came_back_pct", 100.0 * float(np.mean([not case.closed for case in cases])), "%"
    yield "minutes_to_cure", float(np.mean([case.minutes for case in cases])), "min"
    yield "steps_to_first_repair", float(np.mean([_steps_before_repair(case) for case in cases])), "1"
    yield from _against_charts(cases)
    for result in sorted(results, key=lambda r: r.circuit):
        yield f"isolated_pct[{result.circuit}]", 100.0 * float(np.mean([c.right for c in result.cases])), "%"


def calibration_error(chance: np.ndarray, right: np.ndarray) -> float:
    """Return the mean distance of probability and frequency over ten bins of the probability of the first repair."""
    place = np.minimum((chance * BINS).astype(int), BINS - 1)
    bins = [place == k for k in range(BINS)]
    return float(sum(abs(chance[b].mean() - right[b].mean()) * b.mean() for b in bins if b.any()))


def _steps_before_repair(case: CaseResult) -> int:
    return next((k for k, step in enumerate(case.steps) if step.startswith("repair ")), len(case.steps))


def _against_charts(cases: Sequence[CaseResult]) -> Iterator[tuple[str, float, str]]:
    both = [(case.minutes, case.chart) for case in cases if case.chart is not None]
    if not both:
        return
    found = [(minutes, chart.minutes) for minutes, chart in both if chart.found]
    whole = sum(minutes for minutes, _ in both) / sum(chart.minutes for _, chart in both)
    yield "cost_vs_service_chart", whole, "ratio"
    yield "service_chart_finds_pct", 100.0 * len(found) / len(both), "%"
    if found:
        yield "cost_vs_service_chart_where_it_finds", sum(a for a, _ in found) / sum(b for _, b in found), "ratio"
