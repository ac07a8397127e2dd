"""A browser's side of the page: keeps cookies, takes tokens from forms, sends them back as a browser does."""

from __future__ import annotations

import asyncio
import re
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx

from proveout.demo.opening import demo_events
from proveout.web import Workbench, workbench_page

HERE = "http://127.0.0.1:8000"
TOKEN = re.compile(r'name="token" value="([0-9a-f]{64})"')


def open_demo(bench: Workbench) -> int:
    """Open the demo case and return its number."""
    return bench.desk.open(*demo_events())


class Visitor:
    """One browser."""

    def __init__(self, bench: Workbench, language: str = "en", **options: Any) -> None:
        self._application = workbench_page(bench, **options)
        self._language = language
        self._cookies = httpx.Cookies()

    def ask(self, method: str, path: str, **request: Any) -> httpx.Response:
        """Make a request as it is; from a thread of its own, as a browser's driver may hold this one's event loop."""
        with ThreadPoolExecutor(1) as apart:
            return apart.submit(lambda: asyncio.run(self._ask(method, path, request))).result()

    async def _ask(self, method: str, path: str, request: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(self._application)
        accepted = {"accept-language": self._language}
        async with httpx.AsyncClient(
            transport=transport, base_url=HERE, headers=accepted, cookies=self._cookies
        ) as client:
            answer = await client.request(method, path, **request)
            self._cookies = client.cookies
        return answer

    def see(self, path: str, **headers: str) -> httpx.Response:
        """Ask for a page."""
        return self.ask("GET", path, headers=headers)

    def data(self, path: str) -> Any:
        """Ask for the twin of a page."""
        answer = self.see(path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    @property
    def token(self) -> str:
        """The token of this browser's forms."""
        found = TOKEN.search(self.see("/cases").text)
        assert found
        return found[1]

    def send(self, path: str, fields: dict[str, Any] | None = None, **headers: str) -> httpx.Response:
        """Send a form of the page."""
        data = {"token": self.token, **(fields or {})}
        return self.ask("POST", path, data=data, headers={"origin": HERE, **headers})
