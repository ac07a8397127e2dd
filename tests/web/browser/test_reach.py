"""Everybody can use every page: axe finds nothing, nothing is too small to touch, nothing scrolls sideways."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from web.browser.served import Served
from web.browser.window import LAPTOP, PHONE, TABLET, Windows, fits
from web.story import harness_fields
from web.visitor import Visitor

AXE = Path(__file__).parents[3] / "web" / "front" / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """tags => axe.run(document, { runOnly: tags, iframes: false }).then(found =>
    found.violations.map(v => `${v.id}: ${v.help}: ${v.nodes.map(n => n.target.join(' ')).join(' | ')}`))"""
# Controls lower than 44 px, links inside a line of text left out (WCAG 2.2, 2.5.5, exception 'inline').
SMALL = """() => [...document.querySelectorAll('button, select, textarea, summary, a.button, nav a, .choice, ' +
    'input:not([type=hidden]):not([type=radio]):not([type=checkbox])')]
    .map(element => [element, element.getBoundingClientRect()])
    .filter(([element, box]) => box.width > 1 && box.height > 1 && (box.height < 44 || box.width < 44))
    .map(([element, box]) => `${element.outerHTML.slice(0, 80)} ${box.width}x${box.height}`)"""
PAGES = (
    "/cases",
    "/cases?show=closed&find=nothing",
    "/cases/new",
    "/cases/new?circuit=crank-hall-5v",
    "/cases/1",
    "/cases/1?do=measure.reference_at_ce",
    "/cases/1?do=look.look_at_ce",
    "/cases/1?do=repair.crank_sensor",
    "/cases/1/steps",
    "/cases/1/record",
    "/cases/1/circuit",
    "/cases/1/report",
    "/settings",
    "/circuits",
    "/practice",
    "/nowhere",
)


def violations(page: Page) -> list[str]:
    """Return what axe finds on a page, folded parts opened."""
    page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
    page.evaluate(AXE.read_text("utf-8"))
    found: list[str] = page.evaluate(RUN, TAGS)
    return [f"{page.url} {line}" for line in found]


@pytest.mark.parametrize(("width", "scheme"), [(LAPTOP, "light"), (PHONE, "dark")])
def test_axe_finds_no_violation_on_any_page(windows: Windows, served: Served, width: int, scheme: str) -> None:
    """Rules of WCAG 2.2 A and AA and axe's best practices, in light and in dark."""
    Visitor(served.bench).send("/cases/1/harness", harness_fields("CE"))
    page = windows.open(width, color_scheme=scheme)
    found = []
    for path in PAGES:
        page.goto(path)
        found += violations(page)
    assert found == []
    page.evaluate("document.querySelector('main').append(document.createElement('input'))")
    assert any("label" in line for line in violations(page)), "axe does not see a field without a name"


def test_no_page_scrolls_sideways_and_every_control_can_be_touched(windows: Windows, served: Served) -> None:
    """44 px: WCAG 2.2, 2.5.5."""
    Visitor(served.bench).send("/cases/1/harness", harness_fields("CE"))
    small = []
    for width in (PHONE, TABLET, LAPTOP):
        page = windows.open(width)
        for path in PAGES:
            page.goto(path)
            fits(page)
            page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
            fits(page)
            small += [f"{path} at {width}: {line}" for line in page.evaluate(SMALL)]
    assert small == []
