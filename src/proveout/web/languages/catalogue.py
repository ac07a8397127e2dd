"""Reads the .po files of a language and finds the translation of a string.

A language is a folder beside this file; every .po file in it counts, so that parts of the page keep their own.
"""

from __future__ import annotations

import gettext
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from io import BytesIO
from types import MappingProxyType

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from proveout.errors import InputError

__all__ = ["SOURCE", "Words", "chosen_language", "language_names", "mark", "words_of"]

SOURCE = "en"


@dataclass(frozen=True)
class Words:
    """The strings of one language: (English text, number of the plural form) to translation."""

    code: str
    known: Mapping[tuple[str, int], str]
    plural_rule: str

    def gettext(self, text: str) -> str:
        """Return the translation of a string, the string itself where there is none."""
        return self.known.get((text, 0)) or text

    def ngettext(self, one: str, many: str, count: int) -> str:
        """Return the translation that goes with a number."""
        form = int(_rule(self.plural_rule)(count))
        return self.known.get((one, form)) or (one if count == 1 else many)


def mark(text: str) -> str:
    """Return a string as it is; marks it for translation where it is shown later."""
    return text


@cache
def language_names() -> Mapping[str, str]:
    """Return every language of the page by its code, named in itself."""
    folders = [item.name for item in resources.files(__package__).iterdir() if item.is_dir() and item.name.isalpha()]
    return MappingProxyType({code: _own_name(code) for code in sorted({SOURCE, *folders})})


@cache
def words_of(code: str) -> Words:
    """Return the strings of a language; InputError when the page does not have it."""
    if code not in language_names():
        raise InputError(f"the page has no language '{code}'; it has: {', '.join(language_names())}")
    if code == SOURCE:
        return Words(code, MappingProxyType({}), "n != 1")
    catalogs = [
        read_po(BytesIO(item.read_bytes()), locale=code)
        for item in sorted((resources.files(__package__) / code).iterdir(), key=lambda item: item.name)
        if item.name.endswith(".po")
    ]
    known = {key: text for catalog in catalogs for key, text in _entries(catalog)}
    return Words(code, MappingProxyType(known), str(catalogs[0].plural_expr))


def chosen_language(wanted: Iterable[str], accepted: str) -> str:
    """Return the language to show: the first wanted one the page has, else by a browser's Accept-Language."""
    known = language_names()
    for code in (*wanted, *_accepted(accepted)):
        if code in known:
            return code
    return SOURCE


def _accepted(header: str) -> list[str]:
    """Return the languages a browser accepts, the dearest first (RFC 9110, 12.5.4)."""
    found = []
    for place, item in enumerate(header.split(",")[:20]):
        code, _, weight = item.strip().partition(";q=")
        try:
            found.append((-float(weight or 1.0), place, code.strip().split("-")[0].lower()))
        except ValueError:
            continue
    return [code for _, _, code in sorted(found)]


def _entries(catalog: Catalog) -> Iterable[tuple[tuple[str, int], str]]:
    for message in catalog:
        if not message.id or message.fuzzy:
            continue
        one = message.id if isinstance(message.id, str) else message.id[0]
        forms = (message.string,) if isinstance(message.string, str) else message.string
        yield from (((one, form), text) for form, text in enumerate(forms or ()) if text)


@cache
def _rule(expression: str) -> Callable[[int], int]:
    return gettext.c2py(expression)


def _own_name(code: str) -> str:
    return (Locale(code).display_name or code).capitalize()
