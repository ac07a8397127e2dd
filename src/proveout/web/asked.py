"""One request as a page sees it, and the ways to answer it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any
from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from proveout.cases.plain_data import plain_data
from proveout.errors import InputError
from proveout.web.languages import Words, chosen_language, language_names, words_of
from proveout.web.rendering import render
from proveout.web.security import FIELD, check_token, token_of
from proveout.web.shop_settings import ShopSettings
from proveout.web.workbench import Workbench

__all__ = ["LANGUAGE", "Asked", "Handler", "page", "posted"]

LANGUAGE = "proveout-language"
_FIELDS = 400


@dataclass(frozen=True)
class Asked:
    """One request: the workbench it is put to, and what it brought.

    Attributes
    ----------
    form : FormData
        Fields of a form that was posted; empty otherwise.
    """

    request: Request
    bench: Workbench
    form: FormData = field(default_factory=FormData)

    @cached_property
    def settings(self) -> ShopSettings:
        """The shop's settings."""
        return self.bench.settings

    @cached_property
    def words(self) -> Words:
        """The strings of the language that is shown: as switched, else as the shop set it, else as the browser asks."""
        wanted = (self.request.cookies.get(LANGUAGE, ""), self.settings.language)
        return words_of(chosen_language(wanted, self.request.headers.get("accept-language", "")))

    @property
    def case(self) -> int:
        """Number of the case in the address."""
        return int(self.request.path_params["case"])

    @property
    def exchanged(self) -> bool:
        """Whether a script asked, to replace a part of the page."""
        return self.request.headers.get("hx-request") == "true"

    @property
    def as_data(self) -> bool:
        """Whether the twin of the page is wanted as JSON and not the page."""
        wanted = self.request.headers.get("accept", "")
        return self.request.url.path.endswith(".json") or wanted.startswith("application/json")

    def text(self, name: str) -> str:
        """Return a field of the form or of the address, without spaces at its ends; empty when it is not there."""
        value = self.form.get(name, self.request.query_params.get(name, ""))
        return "" if isinstance(value, UploadFile) else value.strip()

    def texts(self, name: str) -> list[str]:
        """Return all values of a field of that name."""
        return [value.strip() for value in self.form.getlist(name) if isinstance(value, str)]

    def amount(self, name: str) -> float | None:
        """Return a number that was typed, with either decimal sign; None where nothing was.

        Raises
        ------
        InputError
            It is no number, or less than nothing.
        """
        typed = self.text(name)
        if not typed:
            return None
        try:
            found = float(typed.replace(" ", "").replace(",", "."))
        except ValueError:
            found = -1.0
        if not 0.0 <= found < float("inf"):
            raise InputError(self._("'{typed}' is no amount: type a number, such as 12.5").format(typed=typed))
        return found

    def file_text(self, name: str) -> str:
        """Return the text of a file that was sent; InputError where it is none in UTF-8. Its name is never used."""
        sent = self.form.get(name)
        if not isinstance(sent, UploadFile):
            raise InputError(self._("No file was sent."))
        try:
            return sent.file.read().decode("utf-8")
        except UnicodeDecodeError as error:
            raise InputError(self._("The file is no text in UTF-8: it cannot be read.")) from error

    def _(self, text: str) -> str:
        """Return a string in the language that is shown."""
        return self.words.gettext(text)

    def show(
        self, template: str, twin: Mapping[str, Any], *, status: int = 200, more: Mapping[str, Any] | None = None
    ) -> Response:
        """Answer with a page, or with its twin as JSON.

        Parameters
        ----------
        twin : mapping
            What the page shows, as plain data; the template sees it as its variables.
        more : mapping, optional
            What only the HTML needs.
        """
        if self.as_data:
            return JSONResponse(plain_data(twin), status)
        return HTMLResponse(render(self.words.code, template, {**self._standing(), **twin, **(more or {})}), status)

    def go(self, address: str) -> Response:
        """Answer with another page of this site, to be asked for by GET."""
        return RedirectResponse(address, 303)

    def leave(self, address: str) -> Response:
        """Answer with another page, loaded whole also where a script asked for a part of this one."""
        return Response(headers={"hx-redirect": address}) if self.exchanged else self.go(address)

    def own_page(self, field: str) -> str:
        """Return the address of one of this site's pages from a field; the first page where it names anything else."""
        parts = urlsplit(self.text(field))
        own = not parts.scheme and not parts.netloc and parts.path.startswith("/") and "\\" not in self.text(field)
        return self.text(field) if own and not parts.path.startswith("//") else "/"

    def _standing(self) -> dict[str, Any]:
        return {
            "settings": self.settings,
            "language": self.words.code,
            "languages": language_names(),
            "token": token_of(self.bench.key, self.request.scope["visitor"]),
            "token_field": FIELD,
            "path": self.request.url.path,
            "here": str(self.request.url.path) + (f"?{self.request.url.query}" if self.request.url.query else ""),
        }


Handler = Callable[[Asked], Response]


def page(path: str, handler: Handler, *, twin: bool = True) -> Iterable[Route]:
    """Yield the routes of a page: its address, and the one of its twin with `.json` behind it."""

    async def answer(request: Request) -> Response:
        return await run_in_threadpool(handler, Asked(request, request.app.state.bench))

    # The twin first: a name at the end of an address would take its ending along.
    if twin:
        yield Route(f"{path}.json", answer, methods=["GET"])
    yield Route(path, answer, methods=["GET"])


def posted(path: str, handler: Handler, *, files: int = 0) -> Iterable[Route]:
    """Yield the route of a form; its token is checked before the handler sees it.

    Parameters
    ----------
    files : int
        How many files the form may bring.
    """

    async def answer(request: Request) -> Response:
        async with request.form(max_files=files, max_fields=_FIELDS, max_part_size=2**20) as form:
            token = form.get(FIELD, "")
            bench: Workbench = request.app.state.bench
            check_token(bench.key, request.scope["visitor"], token if isinstance(token, str) else "")
            return await run_in_threadpool(handler, Asked(request, bench, form))

    yield Route(path, answer, methods=["POST"])
