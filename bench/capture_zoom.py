"""The page of a capture with 100 million samples: from a turn of the wheel to the finer picture on the screen."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

import numpy as np
from playwright.sync_api import Page, sync_playwright

from proveout.captures.readers import Overrules
from proveout.web import Workbench

__all__ = ["run"]

SAMPLES = 100_000_000
RATE = 1e6
PIECE = 1_000_000
SEED = 9
TURNS = (-320,) * 24 + (320,) * 16
"""Turns of the wheel: from the whole record down to some thousand samples, and part of the way back."""
ARGUMENTS = "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-sync"
COUNT = "performance.getEntriesByName('zoom-painted').length"
LAST = "performance.getEntriesByName('zoom-painted').at(-1).duration"


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the figures of zooming."""
    with tempfile.TemporaryDirectory() as folder:
        bench = Workbench(Path(folder) / "cases.db")
        file = Path(folder) / "long.npy"
        np.save(file, _signal())
        entry = bench.captures.shelf.put(file, "long.npy", datetime.now(UTC))
        bench.captures.shelf.say(entry.number, Overrules(rate=RATE), {"channel 1": "not used"})
        with _served(Path(folder) / "cases.db") as address:
            times = _zoomed(f"{address}/captures/{entry.number}?channels=0")
    yield "capture_zoom_ms", median(times), "ms"
    yield "capture_zoom_ms_p95", float(np.percentile(times, 95)), "ms"


def _signal() -> np.ndarray:
    """Return a signal of no sensor: waves of many lengths and noise, so that every zoom level has something to draw."""
    rng = np.random.default_rng(SEED)
    places = np.arange(PIECE, dtype=np.float32)
    pieces = []
    for k in range(SAMPLES // PIECE):
        wave = np.sin(places * np.float32(2e-4)) + 0.4 * np.sin(places * np.float32(3e-2) + k)
        pieces.append((wave + 0.1 * rng.standard_normal(PIECE, dtype=np.float32) + 0.02 * k).astype(np.float32))
    return np.concatenate(pieces)


@contextmanager
def _served(store: Path) -> Iterator[str]:
    """Yield the address of the page, served by a process of its own as it is on a real machine."""
    code = "from proveout.cli import main; main()"
    command = [sys.executable, "-c", code, "serve", "--port", "0", "--store", str(store)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        if process.stdout is None:
            raise SystemExit("the page says nothing")
        try:
            found = re.search(r"http://[\d.:]+", process.stdout.readline())
            if found is None:
                raise SystemExit("the page does not say its address")
            yield found[0]
        finally:
            process.kill()


def _zoomed(address: str) -> list[float]:
    """Return the times of each turn of the wheel [ms]; the page itself takes them after its frame is painted."""
    with sync_playwright() as playing:
        browser = playing.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS.split())
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        page.set_default_timeout(300_000)
        page.goto(address)
        # Until the analysis is done, which takes the machine's cores.
        page.locator("#findings").wait_for()
        page.locator(".stage canvas").first.wait_for()
        time.sleep(1.0)
        box = page.locator(".stage .u-over").first.bounding_box()
        if box is None:
            raise SystemExit("the signal is not drawn")
        page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.5 * box["height"])
        times = [_turned(page, turn) for turn in TURNS]
        browser.close()
    return times


def _turned(page: Page, turn: int) -> float:
    before = page.evaluate(COUNT)
    page.mouse.wheel(0, turn)
    for _ in range(1_000):
        if page.evaluate(COUNT) > before:
            return float(page.evaluate(LAST))
        time.sleep(0.01)
    raise SystemExit("no picture after ten seconds")
