"""Windows of a browser on the page: what a person does in them, and what must never happen in any."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, ViewportSize, expect

ARTEFACTS = Path(os.environ.get("PROVEOUT_ARTEFACTS", "artefacts"))
PHONE, TABLET, LAPTOP = 390, 820, 1440
_HEIGHTS = {PHONE: 844, TABLET: 1180, LAPTOP: 900}
# The browser reports as an error what the server refuses on purpose.
_REFUSED = re.compile(
    r"status of (404|409|413|422)|net::ERR_(CONNECTION|EMPTY_RESPONSE|ABORTED)|^htmx:(afterRequest|sendError)"
)


class Windows:
    """Opens windows, keeps their pictures in a folder, and remembers their faults."""

    def __init__(self, browser: Browser, address: str, folder: Path, name: str) -> None:
        self._browser = browser
        self.address = address
        self._folder = folder
        self._name = re.sub(r"\W+", "-", name)
        self._contexts: list[BrowserContext] = []
        self.faults: list[str] = []

    def open(self, width: int = LAPTOP, **options: Any) -> Page:
        """Open a window of a browser of its own."""
        size = ViewportSize(width=width, height=_HEIGHTS[width])
        context = self._browser.new_context(
            viewport=size, base_url=self.address, **{"locale": "en-GB", "has_touch": width != LAPTOP, **options}
        )
        context.set_default_timeout(10_000)
        self._contexts.append(context)
        return self.another(context)

    def another(self, context: BrowserContext) -> Page:
        """Open another window of the same browser."""
        page = context.new_page()
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.faults.append(f"script: {error}"))
        page.on("request", self._asked)
        return page

    def picture(self, page: Page, what: str) -> None:
        """Keep a picture of the whole page."""
        size = page.viewport_size
        assert size
        self._folder.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=self._folder / f"{self._name}-{what}-{size['width']}.png", full_page=True, caret="initial")

    def close(self) -> None:
        """Close all windows."""
        for context in self._contexts:
            context.close()

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not _REFUSED.search(message.text):
            self.faults.append(f"{message.type}: {message.text}")

    def _asked(self, request: Request) -> None:
        parts = urlsplit(request.url)
        if parts.scheme not in ("data", "blob") and parts.hostname != "127.0.0.1":
            self.faults.append(f"asked the network for {request.url}")


def fits(page: Page) -> None:
    """Check that nothing makes the page itself scroll sideways (WCAG 2.2, 1.4.10)."""
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"


def shown(page: Page, words: str) -> None:
    """Wait until words are seen on the page."""
    expect(page.get_by_text(words).first).to_be_visible()
