"""Two windows on one case, a server that dies, a browser without scripts."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import expect

from web.browser.demo_case import entered
from web.browser.served import Program, Served
from web.browser.window import Windows, shown
from web.story import harness_fields
from web.visitor import Visitor

STEP = "/cases/1?do=measure.reference_at_ce"


def test_two_windows_on_one_case_stay_consistent(windows: Windows, served: Served) -> None:
    Visitor(served.bench).send("/cases/1/harness", harness_fields("CE"))
    one = windows.open()
    two = windows.another(one.context)
    for page in (one, two):
        page.goto(STEP)
    two.locator("#typed").fill("5.02")
    one.locator("#typed").fill("5.01")
    entered(one, lambda: one.keyboard.press("Enter"))
    two.keyboard.press("Enter")
    shown(two, "Not noted yet: the case went on in another window meanwhile.")
    expect(two.locator("#typed")).to_have_value("5.02")
    assert len([e for e in served.bench.desk.events(1) if e.event.kind == "reading-taken"]) == 1
    entered(two, lambda: two.locator("#typed").press("Enter"))
    assert len([e for e in served.bench.desk.events(1) if e.event.kind == "reading-taken"]) == 2
    shown(one, "The case went on in another window.")


def test_what_was_typed_outlives_a_server_that_is_killed(windows: Windows, tmp_path: Path, compiled: Path) -> None:
    """A page left open works on after a restart; one that is loaded anew has what was typed before the end."""
    program = Program(tmp_path / "killed" / "cases.db", compiled)
    program.start()
    try:
        page = windows.open()
        page.goto(f"{program.address}/cases/1?do=look.look_at_target")
        page.get_by_text("Write a remark").click()
        page.get_by_label("Remark").fill("smells of damp in the footwell")
        program.kill()
        page.get_by_role("button", name="Note it").click()
        shown(page, "The workbench does not answer; nothing was noted.")
        expect(page.get_by_label("Remark")).to_have_value("smells of damp in the footwell")
        program.start()
        entered(page, lambda: page.get_by_role("button", name="Note it").click())
        shown(page, "Note: smells of damp in the footwell")
        expect(page.get_by_text("The workbench does not answer")).to_have_count(0)
        page.get_by_text("Write a remark").click()
        expect(page.get_by_label("Remark")).to_have_value("")
        page.get_by_label("Remark").fill("customer rang")
        program.kill()
        program.start()
        page.reload()
        expect(page.get_by_label("Remark")).to_have_value("customer rang")
        entered(page, lambda: page.get_by_role("button", name="Note it").click())
        page.reload()
        expect(page.get_by_label("Remark")).to_have_value("")
    finally:
        program.kill()


def test_every_form_works_before_and_without_scripts(windows: Windows, served: Served) -> None:
    Visitor(served.bench).send("/cases/1/harness", harness_fields("CE"))
    page = windows.open(java_script_enabled=False)
    page.goto(STEP)
    page.locator("#typed").fill("five")
    page.locator("#typed").press("Enter")
    expect(page.locator("#wrong-reading")).to_be_visible()
    page.locator("#typed").fill("5.01")
    page.locator("#typed").press("Enter")
    shown(page, "5.01 V")
    page.get_by_role("button", name="Take it back").click()
    shown(page, "First compare the colours at CS" if page.get_by_text("First compare").count() else "Suspects")
    assert served.bench.desk.events(1)[-1].event.kind in ("correction", "advice-shown")
