"""Recorded signals: how fast they are read, and how surely they are understood.

One figure, one function; every file and signal is made here with a seed that is shown.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from pyarrow import csv as arrow_csv

from bench.capture_signals import dropout_recall, edges_speed, kinds_named, short_analysis, whole_analysis
from bench.capture_speed import speed_error
from bench.pattern_captures import coarse_gaps, pattern_found
from proveout.captures.pyramid import build
from proveout.captures.readers import read

__all__ = ["run"]

Figure = tuple[str, float, str]

SEED = 20_261_125
REPEATS = 5


def run() -> Iterator[Figure]:
    """Yield name, value, unit."""
    signals = (edges_speed, short_analysis, whole_analysis, dropout_recall, kinds_named)
    for figure in (csv_speed, zoom, pattern_found, coarse_gaps, speed_error, *signals):
        yield from figure()


def csv_speed() -> Iterator[Figure]:
    """Read a scope's CSV of 3 columns, against pyarrow's reader alone on the same file with as many threads."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scope.csv"
        megabytes = _write_csv(path, 3_000_000) / 1e6
        skip = arrow_csv.ReadOptions(skip_rows_after_names=1)
        ours, theirs = alternately(lambda: read(path), lambda: arrow_csv.read_csv(path, read_options=skip))
    yield "csv_mb_s", megabytes / ours, "MB/s"
    yield "csv_mb_s_arrow_alone", megabytes / theirs, "MB/s"
    yield "csv_vs_arrow", theirs / ours, "1"


def zoom() -> Iterator[Figure]:
    """Build the extremes of 100 million samples, and draw stretches of every length in 2,000 columns."""
    samples = np.random.default_rng(SEED).random(100_000_000, dtype=np.float32)
    build(samples[:1000])  # compiled beforehand, as it is from the second run on
    begin = time.perf_counter()
    pyramid = build(samples)
    yield "pyramid_s", time.perf_counter() - begin, "s"
    slowest = 0.0
    for length in (2_000, 20_000, 200_000, 2_000_000, 20_000_000, 99_999_990):
        begin = time.perf_counter()
        pyramid.envelope(7, 7 + length, 2_000)
        slowest = max(slowest, time.perf_counter() - begin)
    yield "zoom_ms", 1e3 * slowest, "ms"


def alternately(first: Callable[[], object], second: Callable[[], object]) -> tuple[float, float]:
    """Return the best time [s] of each of two jobs, done in turn so that both see the same machine."""
    times = (list[float](), list[float]())
    for _ in range(REPEATS):
        for job, taken in zip((first, second), times, strict=True):
            begin = time.perf_counter()
            job()
            taken.append(time.perf_counter() - begin)
    return min(times[0]), min(times[1])


def _write_csv(path: Path, rows: int) -> int:
    """Write time and two voltages as an instrument does, at 1 MS/s, and return the size [byte]."""
    draw = np.random.default_rng(SEED)
    voltages = draw.normal(2.5, 1.0, (rows, 2))
    with path.open("w", encoding="utf-8") as file:
        file.write("Time,Channel A,Channel B\n(s),(V),(V)\n")
        for first in range(0, rows, 100_000):
            part = voltages[first : first + 100_000].tolist()
            file.writelines(f"{(first + k) * 1e-6:.6f},{a:.4f},{b:.4f}\n" for k, (a, b) in enumerate(part))
    return path.stat().st_size
