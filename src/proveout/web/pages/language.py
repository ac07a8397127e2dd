"""The switch of the language, kept by the browser."""

from __future__ import annotations

from starlette.responses import Response

from proveout.web.asked import LANGUAGE, Asked, posted
from proveout.web.languages import words_of

_A_YEAR = 365 * 24 * 3600


def switch(asked: Asked) -> Response:
    """Show the page in another language from now on; InputError when there is no such language."""
    code = words_of(asked.text("language")).code
    answer = asked.go(asked.own_page("back"))
    answer.set_cookie(LANGUAGE, code, max_age=_A_YEAR, httponly=True, samesite="strict")
    return answer


ROUTES = (*posted("/language", switch),)
