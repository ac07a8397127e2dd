"""Start-up of the command line as a technician feels it: wall time of whole processes."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

__all__ = ["run"]

CIRCUIT, COMPLAINT = "crank-hall-5v", "start=late"
RUNS = 9


def run() -> Iterator[tuple[str, float, str]]:
    """Yield the seconds of a cold `proveout next`, with the circuit compiled before and with nothing kept at all."""
    with tempfile.TemporaryDirectory() as folder:
        place = dict(os.environ, PROVEOUT_STORE=f"{folder}/cases.db", XDG_CACHE_HOME=f"{folder}/cache")
        _seconds(["open", "--circuit", CIRCUIT, "--complaint", COMPLAINT], place)
        first = _seconds(["next"], place)
        yield "cli_next_s", median(_seconds(["next"], place) for _ in range(RUNS)), "s"
        yield "cli_next_first_s", first, "s"
        yield "cli_help_s", median(_seconds(["--help"], place) for _ in range(RUNS)), "s"


def _seconds(arguments: list[str], place: dict[str, str]) -> float:
    program = Path(sys.executable).with_name("proveout")
    begin = time.perf_counter()
    subprocess.run([program, *arguments], env=place, check=True, capture_output=True)
    return time.perf_counter() - begin
