"""What the documents tell the reader to type works as it stands, and prints what they show."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cli.running import Garage
from docs.pages import PAGES, ROOT, fenced
from docs.shown import agrees, commands, type_page

SLOW = {"charts.md"}
TYPED = [page for page in PAGES if any(block.info == "sh" for block in fenced(page))]


@pytest.mark.parametrize(
    "page", [pytest.param(p, id=p.name, marks=[pytest.mark.slow] if p.name in SLOW else []) for p in TYPED]
)
def test_a_page_can_be_typed_from_top_to_bottom(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    typed = list(type_page(page, Garage(tmp_path)))
    assert typed
    assert "\n\n".join(line.fault for line in typed if line.fault) == ""


def test_the_readme_shows_the_two_commands_that_do_everything() -> None:
    typed = [line for block in fenced(ROOT / "README.md") if block.info == "sh" for line in commands(block)]
    assert {"make demo", "make test"} <= set(typed)
    assert any(line.startswith("proveout next") for line in typed)


def test_every_page_of_the_documents_is_reached_from_the_readme() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    for page in PAGES[1:]:
        assert f"docs/{page.name}" in readme, page.name


def test_every_link_leads_to_a_page_that_is_there() -> None:
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text("utf-8")):
            assert (page.parent / target).is_file(), f"{page.name}: {target}"


def test_shown_output_must_be_what_was_printed_but_for_what_was_left_out() -> None:
    assert agrees(("one", "two"), "one\ntwo\n")
    assert agrees(("one", "…"), "one\ntwo\nthree\n")
    assert agrees(("…", "three"), "one\ntwo\nthree\n")
    assert agrees(("one tw…",), "one two")
    assert not agrees(("one", "2"), "one\ntwo\n")
    assert not agrees(("two",), "one\ntwo\n")
    assert not agrees(("one", "…", "four"), "one\ntwo\nthree\n")
