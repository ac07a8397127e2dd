"""Beyond wires: the closed loop on the circuits of gas, liquid and heat, and what a logged warm-up tells.

Vehicles of the loop are integrated by scipy on equations of their own (`bench.domain_vehicle`), drives of the fit by
`reference.warm_vehicle`; the product's solver has no part in either.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np

from bench.domain_vehicle import TRUTHS, DomainVehicle, draw_domain_case
from bench.loop import SURE, CaseResult, calibration_error, follow_advice, observe_all
from proveout.circuits import ready_circuit
from proveout.circuits.circuit_domains import circuit_domains
from proveout.diagnosis import Belief, Model, Shop, advise, compile_model
from proveout.diagnosis.warmup import Drive, fit_warm_up
from proveout.instruments import default_meter
from reference.electrical import fluid_names
from reference.warm_vehicle import draw_drive, draw_vehicle, log_of, simulate

__all__ = ["run"]

CASES, SEED, WORKERS = 60, 9_000, 2  # vehicles of each circuit
DRIVES, DRIVE_SEED, HOUR = 60, 9_500, 3_600
OPEN, LEAST_OPEN = 0.02, 120.0  # opening and seconds of it from which a valve has opened within a drive
SHUT = 1e-3  # opening below which it never opened
CLOSE = 1.5  # K
SOUND = 0.95  # probability from which the fit says that the valve opened


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the figures."""
    yield from warm_up_figures()
    yield from loop_figures([name for name in fluid_names() if set(TRUTHS) & circuit_domains(ready_circuit(name))])


def warm_up_figures() -> Iterator[tuple[str, float, str]]:
    """Yield time and truth of the warm-up fit over noisy drives of an hour."""
    drives = [_fitted_drive(np.random.default_rng([DRIVE_SEED, k])) for k in range(DRIVES)]
    opened = [d for d in drives if d.opened]
    told = [d for d in opened if d.reached >= SOUND]
    error = np.array([d.middle - d.starts for d in told])
    yield "warmup_fit_s", float(np.median([d.seconds for d in drives])), "s"
    yield "warmup_fit_p95_s", float(np.percentile([d.seconds for d in drives], 95)), "s"
    yield "opening_drives", float(len(opened)), f"of {DRIVES} drawn, first seed {DRIVE_SEED}"
    yield "opening_told_pct", 100.0 * len(told) / len(opened), "%"
    yield "opening_within_1_5_K_pct", 100.0 * float(np.mean(np.abs(error) <= CLOSE)), "%"
    yield "opening_error_p95_K", float(np.percentile(np.abs(error), 95)), "K"
    yield "opening_interval_pct", 100.0 * float(np.mean([d.low <= d.starts <= d.high for d in told])), "%"
    yield (
        "opening_false_pct",
        100.0 * float(np.mean([d.reached >= SOUND for d in drives if not d.opened] or [False])),
        "%",
    )


class _Fitted:
    """One drive with its truth and its fit; temperatures in degree Celsius."""

    def __init__(self, rng: np.random.Generator) -> None:
        ambient = float(rng.uniform(-10.0, 25.0))
        drive = draw_drive(rng, HOUR, ambient)
        self.starts = float(rng.uniform(74.0, 93.0))
        vehicle = draw_vehicle(rng, self.starts, float(rng.choice([0.002, 0.005, 0.01, 0.02])))
        opening = simulate(vehicle, drive, ambient)[6]
        self.opened, self.shut = float((opening > OPEN).sum()) >= LEAST_OPEN, float(opening.max()) < SHUT
        log = log_of(vehicle, drive, ambient, rng)
        made = Drive(log["coolant"], log["air"], log["speed"], log["pedal"], log["road"], log["ambient"])
        begun = time.process_time()
        fit = fit_warm_up(made)
        self.seconds = time.process_time() - begun
        self.reached = fit.reached
        self.low, self.middle, self.high = (float(t) - 273.15 for t in fit.opening)


def _fitted_drive(rng: np.random.Generator) -> _Fitted:
    return _Fitted(rng)


def loop_figures(names: Sequence[str]) -> Iterator[tuple[str, float, str]]:
    """Yield the closed loop's figures over all circuits, then the isolation of each."""
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as pool:
        found = list(pool.map(diagnose_circuit, names, [SEED + 1_000 * k for k in range(len(names))]))
    cases = [case for results, _ in found for case in results]
    right = np.array([case.right for case in cases])
    chance = np.array([case.probability for case in cases])
    sure = chance >= SURE
    yield "loop_cases_domains", float(len(cases)), f"first seed {SEED}"
    yield "isolated_pct_domains", 100.0 * float(right.mean()), "%"
    yield "all_readings_pct_domains", 100.0 * float(np.mean([case.observer_right for case in cases])), "%"
    yield "concluded_pct_domains", 100.0 * float(sure.mean()), "%"
    yield "overconfident_pct_domains", 100.0 * float((~right[sure]).mean()) if sure.any() else 0.0, "%"
    yield "calibration_error_pct_domains", 100.0 * calibration_error(chance, right), "%"
    yield "next_action_ms_domains", 1e3 * float(np.median([t for _, times in found for t in times])), "ms"
    for name, (results, _) in zip(names, found, strict=True):
        yield f"isolated_pct_domains[{name}]", 100.0 * float(np.mean([case.right for case in results])), "%"


def diagnose_circuit(name: str, seed: int, count: int = CASES) -> tuple[list[CaseResult], list[float]]:
    """Draw and diagnose vehicles of one circuit; return their results and times of an advice [s]."""
    model = compile_model(ready_circuit(name), default_meter())
    results = [diagnose(model, [seed, k]) for k in range(count)]
    return results, [_advice_time(model) for _ in range(5)]


def diagnose(model: Model, seed: Sequence[int]) -> CaseResult:
    """Draw a vehicle, follow the advice on it, and let the observer have the same vehicle."""
    case = draw_domain_case(model.circuit, np.random.default_rng(seed))
    first, second = (DomainVehicle(case, model.meter, np.random.default_rng([*seed, k])) for k in range(2))
    result = CaseResult(model.circuit.name, case.fault.reference, case.value)
    follow_advice(model, first, result)
    result.observer_right = observe_all(model, second) == case.fault.suspect
    return result


def _advice_time(model: Model) -> float:
    belief = Belief.start(model)
    begun = time.process_time()
    advise(belief, Shop())
    return time.process_time() - begun
