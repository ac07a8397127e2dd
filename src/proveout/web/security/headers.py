"""Headers that every answer carries; a page that needs another content policy sets its own."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["HEADERS", "POLICY", "SecurityHeaders"]

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "frame-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS: Mapping[str, str] = MappingProxyType(
    {
        "content-security-policy": POLICY,
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "referrer-policy": "same-origin",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
        "cache-control": "no-store",
    }
)


class SecurityHeaders:
    """Middleware that adds the headers an answer does not set itself."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on and complete the headers of its answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def complete(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        await self._app(scope, receive, complete)
