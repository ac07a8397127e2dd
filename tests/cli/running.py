"""Runs commands for the tests, in process and as a program of its own."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from proveout.cli import application

LAMP = Path(__file__).parent.parent / "cases" / "work-lamp.yaml"


@dataclass(frozen=True)
class Garage:
    """A folder with a store and a cache of its own, where commands are given."""

    folder: Path

    @property
    def env(self) -> dict[str, str]:
        """Settings of every command."""
        return {"PROVEOUT_STORE": str(self.folder / "cases.db"), "PROVEOUT_CACHE": str(self.folder / "cache")}

    def run(self, *words: str, typed: str | None = None) -> Result:
        """Run a command in process."""
        return CliRunner().invoke(application, list(words), env=self.env, input=typed)

    def ok(self, *words: str, typed: str | None = None) -> str:
        """Return what a command says that must succeed."""
        result = self.run(*words, typed=typed)
        assert result.exit_code == 0, result.output
        return result.stdout

    def twin(self, *words: str) -> dict[str, Any]:
        """Return the JSON twin of a command that must succeed."""
        data: dict[str, Any] = json.loads(self.ok(*words, "--json"))
        return data

    def refused(self, *words: str) -> str:
        """Return what a command says that must be refused with exit code 2 and without a traceback."""
        result = self.run(*words)
        assert result.exit_code == 2, result.output
        assert result.stdout == ""
        assert result.stderr.startswith("proveout: ")
        assert "Traceback" not in result.output
        return result.stderr

    def lamp(self, *more: str) -> None:
        """Open a case of a work lamp that burns dimly."""
        self.ok("open", "--circuit", str(LAMP), "--complaint", "light=dim", "--rate", "60", "--invented", *more)

    def process(self, *words: str, env: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
        """Run a command as a program of its own."""
        code = "from proveout.cli import main; main()"
        return subprocess.run(
            [sys.executable, "-c", code, *words],
            env={**os.environ, **self.env, **(env or {})},
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
