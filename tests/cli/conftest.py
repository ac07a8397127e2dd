"""The garage of a test."""

from pathlib import Path

import pytest

from cli.running import Garage


@pytest.fixture
def garage(tmp_path: Path) -> Garage:
    return Garage(tmp_path)
