"""Messages of the lower layers name commands of the command line; on the page the same things are done elsewhere."""

from __future__ import annotations

import re

from jinja2 import pass_context
from jinja2.runtime import Context

from proveout.web.languages import mark, words_of

__all__ = ["on_page"]

_QUOTED = re.compile(r"'proveout (\w+)[^']*'")
# Command: where the page does the same.
_PLACES = {
    "harness": mark("‘First compare the colours’ on this page"),
    "sheet": mark("‘Another circuit for this case’ on this page"),
    "next": mark("the case's page"),
    "log": mark("the case's record"),
    "show": mark("the case's page"),
    "open": mark("‘Start a case’"),
    "undo": mark("‘Take it back’"),
    "correct": mark("‘Put right’ in the case's record"),
    "cases": mark("the list of cases"),
    "close": mark("‘Close’ on the case's page"),
    "proof": mark("‘Prove the repair’"),
    "repair": mark("‘It is repaired’"),
    "steps": mark("‘Every step of this circuit’"),
    "reading": mark("‘What the display shows’"),
    "saw": mark("‘Every step of this circuit’"),
    "circuits": mark("the page of circuits"),
}


@pass_context
def on_page(context: Context, message: str) -> str:
    """Return a message with the page's own words for what it says to type."""
    words = words_of(context["language"])

    def place(found: re.Match[str]) -> str:
        known = _PLACES.get(found[1])
        return words.gettext(known) if known else found[0]

    return _QUOTED.sub(place, message)
