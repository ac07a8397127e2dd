"""How much a request may bring: counted as it arrives, whatever its headers say."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["BodyLimit"]


class BodyLimit:
    """Middleware that refuses bodies over a limit with 413.

    Parameters
    ----------
    ordinary : int
        Bytes that a request may bring.
    larger : mapping
        Beginning of a path: bytes, where files are taken.
    """

    def __init__(self, app: ASGIApp, ordinary: int, larger: Mapping[str, int]) -> None:
        self._app = app
        self._ordinary = ordinary
        self._larger = larger

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on; its body ends in an error where it passes the limit."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        limit, taken = self._limit(scope["path"]), 0

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            if message["type"] == "http.request":
                taken += len(message.get("body", b""))
                if taken > limit:
                    raise HTTPException(413, _message(limit))
            return message

        said = Headers(scope=scope).get("content-length", "0")
        if not said.isdecimal() or int(said) > limit:
            await PlainTextResponse(_message(limit), 413)(scope, receive, send)
            return
        await self._app(scope, counted, send)

    def _limit(self, path: str) -> int:
        found = [size for beginning, size in self._larger.items() if path.startswith(beginning)]
        return max(found, default=self._ordinary)


def _message(limit: int) -> str:
    return f"That is more than this page takes ({limit / 2**20:.3g} MiB): nothing was stored."
