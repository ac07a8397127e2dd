"""The page: server time of every page, from Enter to new advice in a browser, and what the first page loads."""

from __future__ import annotations

import shutil
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from statistics import median

import uvicorn
from playwright.sync_api import Page, Request, sync_playwright

from bench import capture_zoom
from proveout.cases.entering import harness_event, reading_event
from proveout.cases.events import Note
from proveout.demo.opening import demo_events, demo_readings
from proveout.web import Workbench, workbench_page
from proveout.web.serving import warm

__all__ = ["run"]

_EVENTS = 60
_TIMES = 20
_READINGS = ("reference_at_ce", "low_drop_at_ce", "reference_over_low_at_ce")
_ARGUMENTS = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
)
# From Enter to the first frame painted after the page has put the new advice in.
_WATCH = """() => { window.painted = new Promise(done => {
    let begun = 0;
    document.querySelector('#typed').addEventListener('keydown', event => {
        if (event.key === 'Enter') begun = performance.now();
    });
    document.addEventListener('htmx:afterSettle', () =>
        requestAnimationFrame(() => { const frame = new MessageChannel();
            frame.port1.onmessage = () => done(performance.now() - begun); frame.port2.postMessage(0); }));
}); }"""


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the figures of the page."""
    with tempfile.TemporaryDirectory() as folder:
        cache = Path(folder) / "cache"
        long = _long_case(Path(folder) / "long" / "cases.db", cache)
        with _served(long) as port:
            times = {path: _server_ms(port, path) for path in _pages(long)}
            yield "page_ms", max(times.values()), "ms"
            yield "page_ms_case", times["/cases/1"], "ms"
        short = _demo(Path(folder) / "short" / "cases.db", cache)
        warm(short)
        with _served(short) as port:
            first, entered = _in_browser(port)
        yield "reading_to_advice_ms", median(entered), "ms"
        yield "reading_to_advice_ms_worst", max(entered), "ms"
        yield "first_load_kb", first, "kB"
    yield from capture_zoom.run()


def _demo(store: Path, cache: Path) -> Workbench:
    """Return a workbench with the demo case, its harness compared."""
    bench = Workbench(store, cache)
    case = bench.desk.open(*demo_events())
    for connector, seen in demo_readings()["harness"].items():
        bench.desk.record(case, harness_event(bench.desk.state(case), connector, seen))
    return bench


def _long_case(store: Path, cache: Path) -> Workbench:
    """Return a workbench with the demo case gone on to sixty events: its readings over and over, a remark between."""
    bench = _demo(store, cache)
    known = [(n, v["before"]["shown"]) for n, v in demo_readings()["measurements"].items() if "before" in v]
    for k in range(_EVENTS - len(bench.desk.events(1))):
        name, shown = known[k % len(known)]
        state = bench.desk.state(1)
        bench.desk.record(1, Note(text="again") if k % 4 == 3 else reading_event(state, name, shown))
    return bench


def _pages(bench: Workbench) -> list[str]:
    circuit = "/circuits/crank-hall-5v"
    case = ["/cases/1", "/cases/1/steps", "/cases/1/record", "/cases/1/circuit", "/cases/1/report", "/cases/1.json"]
    chosen = [f"/cases/1?do=measure.{name}" for name in _READINGS]
    return ["/cases", "/cases/new", *case, *chosen, "/circuits", circuit, "/practice", "/captures", "/settings"]


@contextmanager
def _served(bench: Workbench) -> Iterator[int]:
    listener = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(workbench_page(bench), log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, args=([listener],))
    thread.start()
    yield listener.getsockname()[1]
    server.should_exit = server.force_exit = True
    thread.join()
    listener.close()


def _server_ms(port: int, path: str) -> float:
    """Return the median time from asking for a page to its last byte, over a connection that stays open [ms]."""
    connection = HTTPConnection("127.0.0.1", port)
    times = []
    for _ in range(_TIMES):
        begun = time.perf_counter()
        connection.request("GET", path, headers={"accept": "text/html", "accept-encoding": "gzip"})
        answer = connection.getresponse()
        answer.read()
        times.append((time.perf_counter() - begun) * 1e3)
        if answer.status != 200:
            raise SystemExit(f"{path} answered {answer.status}")
    connection.close()
    return median(times)


def _in_browser(port: int) -> tuple[float, list[float]]:
    """Return what the first case page loads [kB], and the times from Enter to the new advice painted [ms]."""
    with sync_playwright() as playing:
        browser = playing.chromium.launch(executable_path=shutil.which("chromium"), args=_ARGUMENTS.split())
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        asked: list[Request] = []

        def keep(request: Request) -> None:
            asked.append(request)

        page.on("requestfinished", keep)
        page.goto(f"http://127.0.0.1:{port}/cases/1", wait_until="networkidle")
        page.remove_listener("requestfinished", keep)
        first = sum(request.sizes()["responseBodySize"] for request in asked) / 1000.0
        times = [_enter(page, port, name) for name in _READINGS]
        browser.close()
    return first, times


def _enter(page: Page, port: int, name: str) -> float:
    page.goto(f"http://127.0.0.1:{port}/cases/1?do=measure.{name}", wait_until="networkidle")
    page.fill("#typed", str(demo_readings()["measurements"][name]["before"]["shown"]))
    page.wait_for_timeout(300)
    page.evaluate(_WATCH)
    page.press("#typed", "Enter")
    return float(page.evaluate("() => window.painted"))
