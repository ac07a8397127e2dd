"""The whole demo case in a real browser, on every size of screen and by keyboard alone."""

from __future__ import annotations

from playwright.sync_api import Browser, Page, expect

from proveout.web import Workbench
from web.browser.demo_case import by_keyboard, finish, start, work
from web.browser.served import Served
from web.browser.window import ARTEFACTS, LAPTOP, PHONE, TABLET, Windows, fits


def _solved(served: Served) -> None:
    state = served.bench.desk.state(1)
    assert state.phase == "closed"
    assert state.proofs[-1].cured
    assert state.proofs[-1].suspect == "ce_terminal"


def test_the_demo_case_on_a_phone(windows: Windows, served: Served) -> None:
    page = windows.open(PHONE)
    page.goto("/cases")
    page.get_by_role("link", name="Fennmark Lapwing").click()
    windows.picture(page, "opened")
    work(page, between=fits)
    windows.picture(page, "repair")
    finish(page, between=fits)
    windows.picture(page, "closed")
    _solved(served)


def test_the_demo_case_from_the_first_form_to_the_report_on_a_laptop(chromium: Browser, empty: Workbench) -> None:
    """The identification number is the published example: 49 CFR 565's own algorithm says its check digit is X."""
    with Served(empty) as served:
        windows = Windows(chromium, served.address, ARTEFACTS, "from-the-first-form")
        page = windows.open(LAPTOP)
        start(page)
        windows.picture(page, "opened")
        work(page, between=fits)
        finish(page, between=fits)
        windows.picture(page, "closed")
        _solved(served)
        windows.close()
        assert windows.faults == []


def test_by_keyboard_alone(windows: Windows, served: Served) -> None:
    page = windows.open(LAPTOP)
    page.goto("/cases/1")
    work(page, by_keyboard)
    finish(page, by_keyboard)
    _solved(served)


def test_reload_and_back_lose_nothing_at_any_step(windows: Windows, served: Served) -> None:
    """On a tablet: at every step the page is loaded anew, left, and come back to."""
    page = windows.open(TABLET)
    page.goto("/cases/1")

    def stir(page: Page) -> None:
        before = page.locator("main").inner_text()
        field = page.locator("#typed")
        if field.count():
            field.fill("3.21")
        page.reload()
        assert page.locator("main").inner_text().startswith(before[:200])
        page.goto("/cases")
        page.go_back()
        expect(page.locator(".evidence")).to_be_visible()
        if field.count():
            expect(field).to_have_value("3.21")
            field.fill("")

    work(page, between=stir)
    finish(page, between=stir)
    _solved(served)
