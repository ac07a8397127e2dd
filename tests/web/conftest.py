"""A workbench with the demo case, and a browser's side of it without a browser."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.web import Workbench
from web.visitor import Visitor, open_demo


@pytest.fixture(scope="session")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder in which compiled circuits stay for the whole run."""
    return tmp_path_factory.mktemp("compiled")


@pytest.fixture
def bench(tmp_path: Path, compiled: Path) -> Workbench:
    """Return a workbench with the demo case open as case 1."""
    made = Workbench(tmp_path / "cases.db", compiled)
    open_demo(made)
    return made


@pytest.fixture
def visitor(bench: Workbench) -> Visitor:
    """Return a visitor of the page."""
    return Visitor(bench)
