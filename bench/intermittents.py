"""Faults that come and go, diagnosed by the product from what ngspice's vehicles show, up to the first repair named.

Two kinds of vehicle come in with a complaint of the past: one whose fault shows itself by a coin at each reading, one
whose fault has gone for good ('no fault present now'), both followed twice: with every reading and every watching at
rest, and with the harness wiggled meanwhile. Truth is the reference simulator with the fault switched by the coin; what
a look shows is drawn from its table. Figures of all vehicles weigh the two kinds as the circuit's file says.

Vehicles with a steady fault are left out, so conclusions can only keep their promise on vehicles whose complaint is not
there when they are tried ('away'): where it is, a steady fault is by far the likelier, and rightly believed to be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from fnmatch import fnmatchcase
from multiprocessing import get_context

import numpy as np

from bench.chart_run import Clock
from bench.vehicle import Case, TruthVehicle, draw_case
from proveout.circuits import NO_FAULT_NOW, NONE_OF_THESE, ready_circuit
from proveout.diagnosis import (
    Belief,
    Evidence,
    Model,
    OutcomeSeen,
    ReadingTaken,
    Shop,
    advise,
    compile_model,
    with_pairs,
)
from proveout.diagnosis.hypotheses import DISTURBED, INTERMITTENT_SHARE, PRESENCE
from proveout.diagnosis.steps import SEEN_AS, steps_of
from proveout.instruments import Meter, Reading, default_meter
from reference import Situation
from reference.electrical import electrical_names

__all__ = ["ComingVehicle", "Conclusion", "run"]

COMING = 12  # vehicles a circuit
GONE = 4
SEED = 11_000
WORKERS = 2
MOST_STEPS = 40
SURE = 0.97


class ComingVehicle(TruthVehicle):
    """A vehicle whose fault is there with probability `presence` whenever something is read, watched or tried."""

    def __init__(self, case: Case, meter: Meter, rng: np.random.Generator, presence: float) -> None:
        super().__init__(case, meter, rng)
        self.presence = presence
        self._there = False

    @property
    def situation(self) -> Situation:
        """The vehicle at this reading."""
        return self.case.situation(faulty=self._there and not (self.quiet or self.mended))

    def measure(self, name: str) -> Reading:
        """Take a measurement."""
        self._toss()
        return super().measure(name)

    def watch(self, name: str) -> str:
        """Return the outcome of a behaviour."""
        self._toss()
        return super().watch(name)

    def attempt(self, name: str) -> str:
        """Carry out a trial: a fault that is away when the behaviour is watched looks cured."""
        self._toss()
        seen = super().attempt(name)
        return seen if self._there else "cured"

    def _toss(self) -> None:
        self._there = bool(self.rng.uniform() < self.presence)

    def _fits(self, pattern: str) -> bool:
        if self.presence == 0.0:
            return False
        comes = pattern.endswith("~")
        return fnmatchcase(self.case.fault.reference, pattern.removesuffix("~")) and (comes or super()._fits(pattern))


@dataclass(frozen=True)
class Conclusion:
    """What was concluded of one vehicle: `truth` and `named` are suspects, `weight` how often such a one comes in.

    `away` says that no complaint was there when the vehicle was tried.
    """

    circuit: str
    fault: str
    truth: str
    named: str
    probability: float
    steps: tuple[str, ...]
    wiggled: bool
    away: bool
    weight: float

    @property
    def right(self) -> bool:
        """Whether the truth was named."""
        return self.truth in self.named.split("+")

    @property
    def sure(self) -> bool:
        """Whether it was given as a conclusion."""
        return self.probability >= SURE


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the figures."""
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as pool:
        jobs = [pool.submit(diagnose_circuit, name, SEED + k) for k, name in enumerate(electrical_names())]
        yield from summary([conclusion for job in as_completed(jobs) for conclusion in job.result()])


def diagnose_circuit(name: str, seed: int, coming: int = COMING, gone: int = GONE) -> list[Conclusion]:
    """Draw and diagnose the vehicles of one circuit, each at rest and wiggled."""
    model = compile_model(ready_circuit(name), default_meter())
    found = []
    for k in range(coming + gone):
        stays_away = k >= coming
        case = draw_case(model.circuit, np.random.default_rng([seed, k]), coming=not stays_away)
        for wiggled in (False, True):
            presence = 0.0 if stays_away else DISTURBED if wiggled else PRESENCE
            vehicle = ComingVehicle(case, model.meter, np.random.default_rng([seed, k, wiggled]), presence)
            weight = _frequency(model, stays_away) / (gone if stays_away else coming)
            found.append(conclude(model, vehicle, wiggled, weight))
    return found


def _frequency(model: Model, gone: bool) -> float:
    """Return the relative frequency of vehicles of a kind, as the hypotheses weigh them."""
    if gone:
        return model.circuit.no_fault_weight
    return INTERMITTENT_SHARE * sum(fault.weight for fault in model.faults if fault.mode.intermittent)


def conclude(model: Model, vehicle: ComingVehicle, wiggled: bool, weight: float) -> Conclusion:
    """Follow the advice up to the first repair that it names."""
    case, clock = vehicle.case, Clock(model.circuit)
    steps = {(step.kind, step.name): step for step in steps_of(model.circuit)}
    (belief, away), done = _complained(model, vehicle, wiggled), list[str]()
    truth = case.fault.suspect if vehicle.presence > 0 else NO_FAULT_NOW
    for _ in range(MOST_STEPS):
        belief = with_pairs(belief)
        step = advise(belief, Shop(opened=frozenset(clock.opened), setup=clock.setup), alternatives=0).best
        done.append(f"{step.kind} {step.name}")
        if step.kind == "repair":
            break
        clock.take(steps[step.kind, step.name])
        belief = belief.after(_evidence(vehicle, step.kind, step.name, wiggled))
    named = step.name if step.kind == "repair" else ""
    chance = belief.probability(named) if named else 0.0
    return Conclusion(
        model.circuit.name, case.fault.reference, truth, named, chance, tuple(done), wiggled, away, weight
    )


def _complained(model: Model, vehicle: ComingVehicle, wiggled: bool) -> tuple[Belief, bool]:
    """Return the belief once the complaint of the past is noted and the vehicle was tried, and whether it behaved."""
    belief, away = Belief.start(model), True
    for name, outcome in vehicle.case.complaints.items():
        belief = belief.after(OutcomeSeen("behaviour", name, outcome, past=True))
    for name in vehicle.case.complaints:
        seen = vehicle.watch(name)
        away = away and model.circuit.behaviours[name].outcomes[seen].good
        belief = belief.after(OutcomeSeen("behaviour", name, seen, disturbed=wiggled))
    return belief, away


def _evidence(vehicle: ComingVehicle, kind: str, name: str, wiggled: bool) -> Evidence:
    if kind == "measure":
        return ReadingTaken(name, vehicle.measure(name), disturbed=wiggled)
    act: dict[str, Callable[[str], str]] = {"watch": vehicle.watch, "look": vehicle.look, "try": vehicle.attempt}
    return OutcomeSeen(SEEN_AS[kind], name, act[kind](name), disturbed=wiggled and kind == "watch")


def summary(conclusions: Sequence[Conclusion]) -> Iterator[tuple[str, float, str]]:
    """Yield the figures, at rest and wiggled."""
    yield "intermittents_vehicles", len(conclusions) / 2, f"first seed {SEED}"
    for wiggled, how in ((False, "at_rest"), (True, "wiggled")):
        these = [c for c in conclusions if c.wiggled == wiggled]
        coming = [c for c in these if c.truth != NO_FAULT_NOW]
        gone = [c for c in these if c.truth == NO_FAULT_NOW]
        parts = [c for c in coming if c.named not in {NO_FAULT_NOW, NONE_OF_THESE, ""}]
        away = [c for c in these if c.away]
        sure = [c for c in away if c.sure]
        yield f"intermittent_named_right_pct[{how}]", _share(coming, [c.right for c in coming]), "%"
        yield f"intermittent_returned_pct[{how}]", _share(coming, [c.named == NO_FAULT_NOW for c in coming]), "%"
        yield f"intermittent_right_of_parts_named_pct[{how}]", _share(parts, [c.right for c in parts]), "%"
        firm = [c for c in parts if c.sure]
        yield f"intermittent_parts_overconfident_pct[{how}]", _share(firm, [not c.right for c in firm]), "%"
        yield f"gone_returned_pct[{how}]", _share(gone, [c.right for c in gone]), "%"
        firm = [c for c in firm if c.away]
        yield f"away_parts_overconfident_pct[{how}]", _share(firm, [not c.right for c in firm]), "%"
        yield f"away_concluded_pct[{how}]", _share(away, [c.sure for c in away]), "%"
        yield f"away_overconfident_pct[{how}]", _share(sure, [not c.right for c in sure]), "%"
        yield f"away_calibration_error_pct[{how}]", calibration_error_pct(away), "%"
        yield f"steps_to_first_repair[{how}]", float(np.mean([len(c.steps) - 1 for c in coming])), "1"


def _share(among: Sequence[Conclusion], so: Sequence[bool]) -> float:
    weight = np.array([c.weight for c in among])
    return 100.0 * float(weight @ np.array(so, dtype=float) / weight.sum()) if among else 0.0


def calibration_error_pct(among: Sequence[Conclusion], bins: int = 10) -> float:
    """Return the weighted mean distance of probability and frequency over bins of the probability."""
    weight = np.array([c.weight for c in among])
    away = weight * np.array([c.right - c.probability for c in among])
    place = np.minimum((np.array([c.probability for c in among]) * bins).astype(int), bins - 1)
    return 100.0 * float(np.abs(np.bincount(place, away, bins)).sum() / weight.sum())
