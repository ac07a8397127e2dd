"""How surely the wheel is found: captures made of a wheel, a cranking engine, a sensor and noise, read as a file's are.

Every capture has 30 % ripple (speed swings by so much of its mean to either side), teeth out of place with a standard
deviation of 2 % of a pitch, and white noise 20 dB below the signal; between 6 and 16 turns, 8 to 40 samples a tooth
where the shaft is fastest, 1 to 4 compressions a turn, cylinders unequal by up to 15 %, half of them from a standstill.
Right is a wheel of the right name with nine in ten edges on their tooth. Plain wheels are right when they are told to
be even; no answer is `unsure`, which is neither found nor wrong.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np

from captures.synthetic import (
    HALL,
    RELUCTANCE,
    TWO_WIRE,
    CutWheel,
    Recording,
    added_tooth,
    cranking,
    even_teeth,
    missing_teeth,
    pass_sensor,
    record,
    run_lengths,
    width_coded,
)
from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.pattern import find_wheel
from proveout.captures.analysis.pattern.period import symmetric_ratio
from proveout.captures.analysis.wheel import WheelFit
from proveout.captures.capture import Channel, Clock
from proveout.captures.study import ChannelStudy

__all__ = ["SEED", "coarse_gaps", "pattern_found"]

SEED = 60_2
CAPTURES = 2_000
WORKERS = 2
COARSE_CAPTURES = 62
COARSE_TURNS = 12

Drawn = Callable[[np.random.Generator], CutWheel]
WHEELS: tuple[Drawn, ...] = (
    lambda draw: missing_teeth(60, 2),
    lambda draw: missing_teeth(60, 2),
    lambda draw: missing_teeth(36, 1),
    lambda draw: missing_teeth(36, 2),
    lambda draw: run_lengths("36-2-2-2", 36, [(13, 2), (16, 2), (1, 2)]),
    lambda draw: missing_teeth(24, 1),
    lambda draw: width_coded(draw.integers(0, 2, 24).tolist()),
    lambda draw: added_tooth(12),
    lambda draw: missing_teeth(12, 1),
    lambda draw: missing_teeth(4, 1),
    lambda draw: added_tooth(4),
    lambda draw: width_coded([0, 0, 1, 1]),
    lambda draw: even_teeth(int(draw.choice([4, 12, 24, 60]))),
)


def pattern_found() -> Iterator[tuple[str, float, str]]:
    """Yield the share of captures whose wheel was found, and of those told wrong."""
    seeds = [int(seed) for seed in np.random.SeedSequence(SEED).generate_state(CAPTURES)]
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn"), initializer=_one_core) as pool:
        counts = Counter(pool.map(verdict, seeds, chunksize=20))
    yield "pattern_found_pct", 100 * counts["right"] / CAPTURES, "%"
    yield "pattern_wrong_pct", 100 * counts["wrong"] / CAPTURES, "%"
    yield "pattern_captures", CAPTURES, f"captures, seed {SEED}"


def _one_core() -> None:
    os.environ["OPENBLAS_NUM_THREADS"] = os.environ["NUMBA_NUM_THREADS"] = "1"


def verdict(seed: int) -> str:
    """Return `right`, `wrong` or `unsure` for one capture."""
    recording = drawn(np.random.default_rng(seed))
    channel = Channel("sensor", "V", recording.samples, Clock(rate=recording.rate))
    return judged(recording, ChannelStudy(channel).wheel)


def drawn(draw: np.random.Generator) -> Recording:
    """Return a capture of a cranking engine; coils only see teeth that they can tell apart."""
    wheel = WHEELS[draw.integers(len(WHEELS))](draw)
    coil = draw.integers(3) == 0 and "coded" not in wheel.name and "+" not in wheel.name
    sensor = RELUCTANCE if coil else (HALL if draw.integers(2) else TWO_WIRE)
    motion = cranking(
        200,
        float(draw.uniform(6, 16)),
        ripple=0.3,
        per_turn=float(draw.choice([1, 1.5, 2, 3, 4])),
        depths=draw.uniform(0.85, 1, 8).tolist(),
        run_up=float(draw.choice([0, 0.5])),
        start=float(draw.uniform()),
        phase=float(draw.uniform()),
    )
    samples = float(draw.choice([8, 12, 20, 40]))
    return record(wheel, motion, sensor, draw, samples_a_tooth=samples, noise_db=20, tooth_error=0.02)


def judged(recording: Recording, fit: WheelFit) -> str:
    """Return what an answer is worth; edges may be either flank or the middle of tooth or slot."""
    truth = recording.passing.nominal
    if fit.wheel is None:
        return "right" if fit.even and truth.name.isdigit() else "wrong" if fit.even else "unsure"
    if fit.wheel.name != truth.name:
        return "wrong"
    known = fit.place >= 0
    angle = recording.passing.motion.angle(fit.times[known]) - np.asarray(fit.wheel.angles)[fit.place[known]]
    if "coded" in truth.name:  # where a code begins is a convention
        angle = angle - np.angle(np.mean(np.exp(2j * np.pi * angle))) / (2 * np.pi)
    off = (angle + 0.75 * truth.pitch) % 1 / truth.pitch - 0.75  # [pitches]: from the slot before to the slot after
    return "right" if np.mean((off > -0.75) & (off < 1.25)) > 0.9 else "wrong"


def coarse_gaps() -> Iterator[tuple[str, float, str]]:
    """Yield how many gaps of a 12-1 wheel are missed or put elsewhere where speed swings by 45 to 70 % of its mean.

    Two compressions a turn, teeth out of place by 2 %. Beside joint decoding the symmetric ratio alone, a gap where the
    interval is over the square root of two times what its neighbours say.
    """
    counts = Counter[str]()
    for seed in np.random.SeedSequence(SEED).generate_state(COARSE_CAPTURES):
        counts.update(_coarse_gaps(np.random.default_rng(int(seed))))
    yield "coarse_gaps", counts["gaps"], f"gaps of 12-1, ripple 45 to 70 %, seed {SEED}"
    yield "coarse_gaps_missed_by_ratio", counts["missed by ratio"], "gaps"
    yield "coarse_gaps_invented_by_ratio", counts["invented by ratio"], "gaps"
    yield "coarse_gaps_misplaced", counts["misplaced"], "gaps"
    yield "coarse_gaps_unsure", counts["unsure"], "gaps"


def _coarse_gaps(draw: np.random.Generator) -> Counter[str]:
    motion = cranking(
        200,
        COARSE_TURNS + 0.5,
        ripple=float(draw.uniform(0.45, 0.7)),
        depths=draw.uniform(0.85, 1, 8).tolist(),
        start=float(draw.uniform()),
        phase=float(draw.uniform()),
    )
    passing = pass_sensor(missing_teeth(12, 1), motion, draw, tooth_error=0.02)
    fit = find_wheel(Edges(passing.times, passing.up))
    truth = passing.only(fit.rising)
    after_gap = truth.place == 0
    marked = np.zeros(truth.times.size, bool)
    marked[2:-1] = symmetric_ratio(np.log(np.diff(truth.times))) > 0.5 * np.log(2)
    judged = np.arange(truth.times.size) > 1
    judged[-1] = False
    found = fit.place == 0 if fit.wheel is not None and fit.wheel.name == "12-1" else None
    return Counter(
        {
            "gaps": int(np.sum(after_gap & judged)),
            "missed by ratio": int(np.sum(after_gap & ~marked & judged)),
            "invented by ratio": int(np.sum(~after_gap & marked & judged)),
            "misplaced": 0 if found is None else int(np.sum(after_gap & ~found & judged)),
            "unsure": int(np.sum(after_gap & judged)) if found is None else 0,
        }
    )
