"""A real browser on a workbench that is really served; what must never happen on any page fails every test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright

from proveout.web import Workbench
from proveout.web.assets import assets
from web.browser.served import Served
from web.browser.window import ARTEFACTS, Windows

ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def playing() -> Iterator[Playwright]:
    with sync_playwright() as made:
        yield made


@pytest.fixture(scope="session")
def chromium(playing: Playwright) -> Iterator[Browser]:
    program = shutil.which("chromium")
    assert program, "chromium, the browser of these tests, is missing: run 'make chromium'"
    assert "page.js" in assets(), "the page's scripts are not built: run 'make page'"
    made = playing.chromium.launch(executable_path=program, args=list(ARGUMENTS))
    yield made
    made.close()


@pytest.fixture
def served(bench: Workbench) -> Iterator[Served]:
    """Yield the workbench with the demo case, served on a free port."""
    bench.model(bench.desk.state(1))
    with Served(bench) as made:
        yield made


@pytest.fixture
def windows(chromium: Browser, served: Served, request: pytest.FixtureRequest) -> Iterator[Windows]:
    """Yield windows of the browser; at the end each must have stayed on this machine and within its content policy."""
    made = Windows(chromium, served.address, ARTEFACTS, request.node.name)
    yield made
    made.close()
    assert made.faults == []


@pytest.fixture
def empty(tmp_path: Path, compiled: Path) -> Workbench:
    """Return a workbench without cases."""
    return Workbench(tmp_path / "empty" / "cases.db", compiled)
