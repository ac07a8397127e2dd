"""The page is for this machine only: the address it listens on, and the name by which a browser asks for it.

A request under another name is refused: a foreign site whose name points here (DNS rebinding) gets nothing.
"""

from __future__ import annotations

import ipaddress

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from proveout.errors import InputError

__all__ = ["LOCAL_NAMES", "LocalHost", "check_loopback", "host_name"]

LOCAL_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})


def check_loopback(address: str) -> None:
    """Check that an address can be reached from this machine only.

    Raises
    ------
    InputError
        It is not loopback.
    """
    try:
        local = address == "localhost" or ipaddress.ip_address(address).is_loopback
    except ValueError:
        local = False
    if not local:
        raise InputError(
            f"address '{address}' can be reached from other machines, and the page has no accounts yet (they come in a "
            "later version): use 127.0.0.1"
        )


def host_name(host: str) -> str:
    """Return the name in a Host header without its port, in small letters."""
    name, sign, port = host.rpartition(":")
    return (name if sign and port.isdecimal() else host).lower()


class LocalHost:
    """Middleware that answers only requests that name this machine."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "http" and host_name(Headers(scope=scope).get("host", "")) not in LOCAL_NAMES:
            refused = PlainTextResponse("This page answers only to 127.0.0.1 and localhost.\n", 421)
            await refused(scope, receive, send)
            return
        await self._app(scope, receive, send)
