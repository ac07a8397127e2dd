"""Every string of the page has its translation, and a language is found as the browser, the shop and the switch say."""

from __future__ import annotations

import re

import pytest

from proveout.errors import InputError
from proveout.web import Workbench
from proveout.web.languages import chosen_language, language_names, words_of
from proveout.web.shop_settings import ShopSettings
from web.story import words_of as read
from web.visitor import Visitor
from web.words import missing, used

PLACES = re.compile(r"%\(\w+\)s|\{\w+\}|%%")
TRANSLATED = [code for code in language_names() if code != "en"]


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_shipped_language_has_every_string_of_the_page(code: str) -> None:
    assert len(list(used())) > 300
    assert missing(code) == []


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_translation_has_the_places_of_its_string(code: str) -> None:
    for (text, form), translated in words_of(code).known.items():
        if form == 0:
            assert sorted(PLACES.findall(text)) == sorted(PLACES.findall(translated)), text


def test_no_translation_is_kept_of_a_string_that_the_page_no_longer_has() -> None:
    """Of a string with a plural, forms beyond the first are its own."""
    strings = {text[0] for _, text in used()}
    for code in TRANSLATED:
        assert {text for text, _ in words_of(code).known} - strings == set()


@pytest.mark.parametrize(
    ("wanted", "accepted", "shown"),
    [
        ((), "es-MX,es;q=0.9,en;q=0.8", "es"),
        ((), "fr;q=1.0, en;q=0.5, es;q=0.7", "es"),
        ((), "ja", "en"),
        ((), "es;q=first,en", "en"),
        ((), "", "en"),
        (("es", ""), "en", "es"),
        (("xx", "es"), "en", "es"),
    ],
)
def test_the_language_is_the_one_switched_to_else_the_shops_else_the_browsers(
    wanted: tuple[str, ...], accepted: str, shown: str
) -> None:
    """The header as RFC 9110, 12.5.4, has it."""
    assert chosen_language(wanted, accepted) == shown


def test_a_language_that_is_not_there_is_told() -> None:
    with pytest.raises(InputError, match="no language 'xx'; it has: en, es"):
        words_of("xx")


def test_the_page_speaks_spanish_when_it_is_switched(visitor: Visitor) -> None:
    assert "Suspects" in read(visitor.see("/cases/1"))
    visitor.send("/language", {"language": "es", "back": "/cases/1"})
    page = visitor.see("/cases/1")
    assert '<html lang="es">' in page.text
    assert "Sospechosos" in read(page)
    assert "Suspects" not in read(page)


def test_the_shops_language_holds_where_the_browser_was_not_switched(visitor: Visitor, bench: Workbench) -> None:
    bench.set_settings(ShopSettings(language="es"))
    assert '<html lang="es">' in visitor.see("/cases").text
