"""The page served in this process or, to be killed, in one of its own."""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
from pathlib import Path
from types import TracebackType
from typing import Self

import uvicorn

from proveout.web import Workbench, workbench_page


class Served:
    """A workbench served by a thread of this process on a free port."""

    def __init__(self, bench: Workbench) -> None:
        self.bench = bench
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self._listener.getsockname()[1]}"
        self._server = uvicorn.Server(uvicorn.Config(workbench_page(bench), log_level="error", lifespan="off"))
        self._thread = threading.Thread(target=self._server.run, args=([self._listener],))

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.should_exit = True
        self._server.force_exit = True
        self._thread.join()
        self._listener.close()


class Program:
    """`proveout serve` as a process of its own, on a port that stays the same over restarts."""

    def __init__(self, store: Path, cache: Path) -> None:
        self._store, self._cache = store, cache
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it, and wait until it says its address."""
        code = "from proveout.cli import main; main()"
        options = ["serve", "--demo", "--port", str(self.port), "--store", str(self._store)]
        self._process = subprocess.Popen(
            [sys.executable, "-c", code, *options],
            env={"PROVEOUT_CACHE": str(self._cache), "PATH": "/usr/bin:/bin", "OPENBLAS_NUM_THREADS": "1"},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        assert self.address in self._process.stdout.readline()

    def kill(self) -> None:
        """Kill it in the middle of whatever it does."""
        self._process.kill()
        self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()
