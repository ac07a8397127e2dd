"""The page's own files (style, scripts, icons, type), read once and served from memory.

They are built by the front end's set-up step and are no part of the source. A file is found by its name in the table,
never by a path that was asked for; its address carries a fingerprint, so that a browser may keep it for good.
"""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from starlette.requests import Request
from starlette.responses import Response

__all__ = ["Asset", "asset_address", "assets", "send_asset"]

_KINDS = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
    ".txt": "text/plain; charset=utf-8",
}
_PACKED = ".woff2"
_FOR_GOOD = "public, max-age=31536000, immutable"


@dataclass(frozen=True)
class Asset:
    """One file: its bytes plain and compressed (the same where it is compressed already), kind and fingerprint."""

    plain: bytes
    packed: bytes
    kind: str
    fingerprint: str


@cache
def assets() -> Mapping[str, Asset]:
    """Return the built files by name; nothing where the front end was not built."""
    folder = resources.files(__package__) / "static"
    if not folder.is_dir():
        return MappingProxyType({})
    files = [item for item in folder.iterdir() if _ending(item.name) in _KINDS]
    return MappingProxyType({item.name: _read(item.name, item.read_bytes()) for item in files})


def asset_address(name: str) -> str:
    """Return the address of a file with its fingerprint; without it where it was not built."""
    found = assets().get(name)
    return f"/static/{name}?v={found.fingerprint}" if found else f"/static/{name}"


async def send_asset(request: Request) -> Response:
    """Answer with one of the files."""
    found = assets().get(request.path_params["name"])
    if found is None:
        return Response("There is no such file.\n", 404, media_type="text/plain")
    packed = "gzip" in request.headers.get("accept-encoding", "") and found.packed is not found.plain
    headers = {"cache-control": _FOR_GOOD, "vary": "accept-encoding"}
    if packed:
        headers["content-encoding"] = "gzip"
    return Response(found.packed if packed else found.plain, headers=headers, media_type=found.kind)


def _read(name: str, content: bytes) -> Asset:
    packed = content if _ending(name) == _PACKED else gzip.compress(content, 9, mtime=0)
    return Asset(content, packed, _KINDS[_ending(name)], hashlib.sha256(content).hexdigest()[:16])


def _ending(name: str) -> str:
    return "." + name.rpartition(".")[2]
