"""The page as an ASGI application: its routes, its guards, and how it says that something went wrong."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from proveout.errors import ProveoutError, StoreError
from proveout.web.asked import Asked
from proveout.web.assets import send_asset
from proveout.web.pages import LARGER_BODIES, ROUTES
from proveout.web.security import BodyLimit, LocalHost, OwnForms, SecurityHeaders
from proveout.web.workbench import Workbench

__all__ = ["ORDINARY_BODY", "workbench_page"]

ORDINARY_BODY = 2**20


def workbench_page(bench: Workbench, larger: Mapping[str, int] = LARGER_BODIES) -> Starlette:
    """Return the application over a workbench.

    Parameters
    ----------
    larger : mapping
        Beginning of a path: how many bytes may be sent there, where that is more than a form needs.
    """
    made = Starlette(
        routes=[*ROUTES, Route("/static/{name}", send_asset, methods=["GET"])],
        middleware=[
            Middleware(SecurityHeaders),
            Middleware(LocalHost),
            Middleware(BodyLimit, ORDINARY_BODY, MappingProxyType(dict(larger))),
            Middleware(OwnForms),
            Middleware(GZipMiddleware, minimum_size=1000, compresslevel=5),
        ],
        exception_handlers={HTTPException: _refused, ProveoutError: _said, Exception: _failed},
    )
    made.state.bench = bench
    return made


async def _refused(request: Request, error: Exception) -> Response:
    """Answer that an address is not there, or that something was refused."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    asked = Asked(request, request.app.state.bench)
    said = {404: asked._("There is no such page."), 405: asked._("This address takes no such request.")}
    message = said.get(status) or (error.detail if isinstance(error, HTTPException) else "")
    return asked.show("wrong.html", {"status": status, "message": message}, status=status)


async def _said(request: Request, error: Exception) -> Response:
    """Answer with an error that has its own words."""
    status = 503 if isinstance(error, StoreError) else 422
    return Asked(request, request.app.state.bench).show(
        "wrong.html", {"status": status, "message": str(error)}, status=status
    )


async def _failed(request: Request, error: Exception) -> Response:
    """Answer that the program has a fault; what was stored is kept."""
    asked = Asked(request, request.app.state.bench)
    message = asked._("The program has a fault here. What was noted before is kept; what you typed last was not noted.")
    return asked.show("wrong.html", {"status": 500, "message": message}, status=500)
