"""Templates to HTML: one environment for each language, everything escaped, a missing value is an error."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from proveout.web.assets import asset_address
from proveout.web.figures import FILTERS
from proveout.web.languages import words_of
from proveout.web.page_words import on_page
from proveout.web.wires import wire_picture

__all__ = ["environment", "render"]


@cache
def icon(name: str) -> Markup:
    """Return an icon of the icon sheet; words beside it say the same, so it is hidden from reading aloud."""
    return Markup('<svg class="icon" aria-hidden="true" focusable="false"><use href="{}#{}"></use></svg>').format(
        asset_address("icons.svg"), name
    )


@cache
def environment(language: str) -> Environment:
    """Return the templates in one language."""
    made = Environment(
        loader=PackageLoader("proveout.web"),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    words = words_of(language)
    made.install_gettext_callables(words.gettext, words.ngettext, newstyle=True)  # type: ignore[attr-defined]
    made.filters.update(FILTERS, translated=words.gettext, on_page=on_page, wire=wire_picture)
    made.globals.update(icon=icon, asset=asset_address)
    return made


def render(language: str, template: str, context: dict[str, Any]) -> str:
    """Return a page in a language."""
    return environment(language).get_template(template).render(context)
