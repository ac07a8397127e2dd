"""What is found in recorded signals: how fast, in how much memory, and how surely. All signals are made here."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from captures.synthetic import (
    HALL,
    RELUCTANCE,
    TWO_WIRE,
    CutWheel,
    Motion,
    cranking,
    even_teeth,
    missing_teeth,
    pass_sensor,
    record,
    steady,
    sweep,
)
from proveout.captures import Capture, Channel, Clock, Origin
from proveout.captures.analyse import analyse
from proveout.captures.analysis.crossings import Thresholds, crossings
from proveout.captures.analysis.dropouts import dropouts, follow_tempo
from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.pattern.find import find_wheel
from proveout.captures.analysis.sharpened import sharpened
from proveout.captures.study import ChannelStudy

__all__ = ["dropout_recall", "edges_speed", "kinds_named", "short_analysis", "whole_analysis"]

Figure = tuple[str, float, str]
Samples = NDArray[np.float32]

SEED = 20_261_125
REPEATS = 7
LONG = 100_000_000
RATE = 1e6
IDLE = 750.0


def edges_speed() -> Iterator[Figure]:
    """Find the edges of 100 million float32 samples, against the maximum of the same array, in turn on one machine."""
    for name, samples_a_tooth in (("", RATE / (IDLE / 60 * 60)), ("_at_100_a_tooth", 100.0)):
        samples = _long(samples_a_tooth)
        thresholds = Thresholds.at(0.0, 0.4)
        crossings(samples[:10_000], thresholds)
        ours, reading = _in_turn(lambda s=samples, t=thresholds: crossings(s, t), samples.max)  # type: ignore[misc]
        yield f"edges_msamples_s{name}", LONG / ours / 1e6, "Msample/s"
        yield f"edges_vs_memory_read{name}", reading / ours, "1"


def whole_analysis() -> Iterator[Figure]:
    """Analyse 100 million float32 samples from a memory map in a process of its own; its time and peak memory."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.npy"
        np.save(path, _long(RATE / (IDLE / 60 * 60)))
        size = path.stat().st_size
        answer = subprocess.run(
            [sys.executable, "-m", "bench.capture_signals", str(path)], capture_output=True, text=True, check=True
        )
    seconds, peak, before = (float(word) for word in answer.stdout.split())
    yield "analysis_100m_s", seconds, "s"
    yield "analysis_100m_peak_vs_file", peak / size, "1"
    yield "analysis_100m_start_vs_file", before / size, "1"


def short_analysis() -> Iterator[Figure]:
    """Analyse one second of a 1 MS/s capture, at idle and while cranking, after a first one."""
    for name, motion in (("idle", steady(IDLE, 13)), ("cranking", cranking(200, 4, ripple=0.3))):
        made = record(missing_teeth(60, 2), motion, RELUCTANCE, np.random.default_rng(SEED), rate=RATE, noise_db=30)
        capture = _capture(made.samples[: int(RATE)])
        analyse(capture)
        ours, _ = _in_turn(lambda c=capture: analyse(c), lambda: None)  # type: ignore[misc]
        yield f"analysis_1m_{name}_ms", 1e3 * ours, "ms"


def dropout_recall() -> Iterator[Figure]:
    """Take single teeth out of 240 made captures; count those found and those invented."""
    hits = lost = false = 0
    minutes = 0.0
    for number, (wheel, motion) in enumerate(_drives()):
        rng = np.random.default_rng([SEED, number])
        passing = pass_sensor(wheel, motion, rng, tooth_error=0.01, jitter=0.01, lost=4)
        if wheel.name.isdigit():
            fit = follow_tempo(passing.only(True).times)
        else:
            fit = sharpened(find_wheel(Edges(passing.times, passing.up)))
        found = dropouts(fit) if fit.wheel is not None else ()
        when = motion.crossings(wheel_edges(passing.wheel.rise, passing.wheel.fall, fit.rising))
        truth = [float(when.times[(when.turn == a) & (when.which == b)][0]) for a, b in passing.lost.tolist()]
        hits += sum(any(f.kind == "lost" and f.start < t < f.end for f in found) for t in truth)
        false += sum(not (f.kind == "lost" and any(f.start < t < f.end for t in truth)) for f in found)
        lost += len(truth)
        minutes += float(motion.times[-1] - motion.times[0]) / 60
    yield "dropout_recall_pct", 100 * hits / lost, f"% of {lost}, seeds {SEED} and 0 to {number}"
    yield "dropout_false_per_minute", false / minutes, f"1/min over {minutes:.0f} min"


def wheel_edges(rise: tuple[float, ...], fall: tuple[float, ...], rising: bool) -> tuple[float, ...]:
    """Return the edges of the kind that the wheel was found by."""
    return rise if rising else fall


def _drives() -> Iterator[tuple[CutWheel, Motion]]:
    wheels = (missing_teeth(60, 2), missing_teeth(36, 1), even_teeth(48))
    for wheel in wheels:
        for k in range(80):
            speed = 150.0 + 2 * k
            yield wheel, cranking(speed, 40, ripple=0.3) if k % 2 else sweep(600 + 10 * k, 3000 - 20 * k, 200)


def kinds_named() -> Iterator[Figure]:
    """Name the kind of 300 made signals of three sensors; unsure is an answer, a wrong kind is none."""
    rng = np.random.default_rng(SEED)
    named = wrong = 0
    sensors = (
        ("variable reluctance", RELUCTANCE, "V"),
        ("on/off voltage", HALL, "V"),
        ("two-level current", TWO_WIRE, "A"),
    )
    for number in range(300):
        kind, sensor, unit = sensors[number % 3]
        wheel = (missing_teeth(60, 2), missing_teeth(36, 1), even_teeth(48))[number % 9 // 3]
        motion = (
            cranking(float(rng.uniform(120, 250)), 8, ripple=0.3)
            if number % 2
            else steady(float(rng.uniform(300, 3000)), 12)
        )
        made = record(
            wheel, motion, sensor, rng, samples_a_tooth=float(rng.uniform(4, 60)), noise_db=20, tooth_error=0.02
        )
        found = ChannelStudy(Channel("channel 1", unit, made.samples, Clock(rate=made.rate))).kind
        named += found.kind == kind
        wrong += found.kind not in (kind, None)
    yield "kind_named_pct", 100 * named / 300, f"%, seed {SEED}"
    yield "kind_wrong_pct", 100 * wrong / 300, "%"


def _long(samples_a_tooth: float) -> Samples:
    """Return 100 million samples of a coil at a 60-2 wheel: one tenth made, then repeated."""
    turns = int(LONG / 10 / samples_a_tooth / 60)
    motion = steady(IDLE, turns)
    rate = samples_a_tooth * 60 * IDLE / 60
    made = record(missing_teeth(60, 2), motion, RELUCTANCE, np.random.default_rng(SEED), rate=rate, noise_db=30)
    return np.resize(made.samples, LONG)


def _capture(samples: Samples) -> Capture:
    return Capture((Channel("channel 1", "V", samples, Clock(rate=RATE)),), Origin("made", "numpy", 0, "0" * 64))


def _in_turn(first: Callable[[], object], second: Callable[[], object]) -> tuple[float, float]:
    """Return the best time [s] of each of two jobs, done in turn so that both see the same machine."""
    times = (list[float](), list[float]())
    for _ in range(REPEATS):
        for job, taken in zip((first, second), times, strict=True):
            begin = time.perf_counter()
            job()
            taken.append(time.perf_counter() - begin)
    return min(times[0]), min(times[1])


def _peak() -> int:
    """Return the peak of resident memory of this process [byte], mapped files and all."""
    status = Path("/proc/self/status").read_text("utf-8")
    return int(status.split("VmHWM:")[1].split()[0]) * 1024


def _main(path: str) -> None:
    """Print time [s], peak memory and memory before the analysis [byte] of a file of samples."""
    warm = record(missing_teeth(60, 2), steady(IDLE, 13), RELUCTANCE, np.random.default_rng(1), rate=1e5, noise_db=30)
    analyse(_capture(warm.samples))
    before = _peak()
    capture = _capture(np.load(path, mmap_mode="r"))
    begin = time.perf_counter()
    analyse(capture)
    print(time.perf_counter() - begin, _peak(), before)


if __name__ == "__main__":
    _main(sys.argv[1])
