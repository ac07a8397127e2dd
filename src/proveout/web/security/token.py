"""Only the page's own forms change anything: a token bound to the browser's cookie, and the origin of the request.

Source: OWASP Cross-Site Request Forgery Prevention Cheat Sheet, "Signed Double-Submit Cookie" and "Verifying Origin".
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["COOKIE", "FIELD", "OwnForms", "check_token", "token_of"]

COOKIE = "proveout-window"
FIELD = "token"
HEADER = "x-page-token"
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_FOREIGN = "Another site asked for this change, or the browser did not say which one; nothing was done.\n"
_UNKNOWN = (
    "This form was not made by this page, or the browser has dropped its cookie; nothing was done. Load the page again."
)
_VISITOR = re.compile(r"[0-9a-f]{32}")


def token_of(key: bytes, visitor: str) -> str:
    """Return the token of the forms that are shown to a browser."""
    return hmac.new(key, visitor.encode(), hashlib.sha256).hexdigest()


def check_token(key: bytes, visitor: str, token: str) -> None:
    """Check that a form was made by this page for this browser; HTTPException 403 when it was not."""
    if not hmac.compare_digest(token_of(key, visitor).encode(), token.encode("utf-8", "replace")):
        raise HTTPException(403, _UNKNOWN)


class OwnForms:
    """Middleware that gives every browser its cookie, and refuses changes asked for by another origin."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with the browser's name in `scope["visitor"]`."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        if scope["method"] not in _SAFE and not _own(headers, scope["scheme"]):
            await PlainTextResponse(_FOREIGN, 403)(scope, receive, send)
            return
        known = cookie_parser(headers.get("cookie", "")).get(COOKIE, "")
        visitor = known if _VISITOR.fullmatch(known) else secrets.token_hex(16)
        scope["visitor"] = visitor

        async def introduced(message: Message) -> None:
            if message["type"] == "http.response.start" and visitor != known:
                value = f"{COOKIE}={visitor}; Path=/; HttpOnly; SameSite=Strict"
                MutableHeaders(scope=message).append("set-cookie", value)
            await send(message)

        await self._app(scope, receive, introduced)


def _own(headers: Headers, scheme: str) -> bool:
    """Say whether a change is asked for by a page of this very address (RFC 6454; Fetch Metadata)."""
    asked = urlsplit(headers.get("origin") or headers.get("referer", ""))
    own = (scheme, headers.get("host", "").lower())
    return headers.get("sec-fetch-site", "same-origin") == "same-origin" and (asked.scheme, asked.netloc.lower()) == own
