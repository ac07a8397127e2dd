"""Serves the page on this machine until it is stopped."""

from __future__ import annotations

import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Thread

import uvicorn

from proveout.errors import InputError, ProveoutError
from proveout.instruments import Function, default_meter
from proveout.instruments.parsing import parse_reading
from proveout.web.application import workbench_page
from proveout.web.assets import assets
from proveout.web.case_view import case_twin
from proveout.web.security import check_loopback
from proveout.web.workbench import Workbench

__all__ = ["serve_page", "warm"]


def serve_page(store: Path, cache: Path | None, host: str, port: int, tell: Callable[[str], None]) -> None:
    """Serve the cases of a store until Ctrl-C.

    Parameters
    ----------
    tell : callable
        Is given the address once the page can be asked for.

    Raises
    ------
    InputError
        The address is not loopback or is taken, or the front end was not built.
    StoreError
        The store cannot be read.
    """
    check_loopback(host)
    if "page.css" not in assets():
        raise InputError("the page's style and scripts are not built: run 'make page', then start again")
    bench = Workbench(store, cache)
    application = workbench_page(bench)
    Thread(target=warm, args=(bench,), daemon=True).start()
    with _listening(host, port) as listener:
        name, taken = listener.getsockname()[:2]
        tell(f"http://{f'[{name}]' if ':' in name else name}:{taken}/")
        uvicorn.Server(uvicorn.Config(application, log_level="warning", server_header=False)).run([listener])


def warm(bench: Workbench) -> None:
    """Load what the first page of a case and the first reading would have to wait for."""
    parse_reading("1 V", Function.VOLTS_DC, default_meter())
    current = bench.desk.store.current()
    if current is not None:
        with suppress(ProveoutError):
            standing = bench.case(current)
            bench.schematics.draw(standing.state.circuit, standing.state.text)
            case_twin(standing)


def _listening(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        raise InputError(
            f"{host}:{port} cannot be listened on ({error.strerror}): choose another with --port, or 0 for a free one"
        ) from error
    listener.listen(128)
    return listener
