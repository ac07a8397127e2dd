"""Practice, circuits, flow chart and captures in a real browser: reached by everybody, by keyboard, without scripts."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from web.browser.served import Served
from web.browser.test_reach import SMALL, violations
from web.browser.window import LAPTOP, PHONE, TABLET, Windows, fits
from web.test_captures import _analysed, _arrived, _crank, _csv, _send
from web.test_practice import _start
from web.visitor import Visitor


@pytest.fixture
def pages(served: Served) -> list[str]:
    """Return the addresses of pages with something on them: a sheet, a practice and its end, a chart, two captures."""
    visitor = Visitor(served.bench)
    visitor.send("/circuits/coolant-ntc/sheet")
    visitor.send("/sheets/1/edit", {"wire.w_sig.colour": "BN/GN", "vehicle.year": "19"})
    for number in (1, 2):
        assert _start(visitor) == number
        visitor.send(f"/practice/{number}/compare/CT")
        visitor.send(f"/practice/{number}/measure/signal_cold_at_ct")
    visitor.send("/practice/2/hand-over", {"because": "enough"})
    first = _arrived(visitor, _send(visitor, _csv(_crank())))
    second = _arrived(visitor, _send(visitor, _csv(_crank(230.0, lost=0))))
    _analysed(visitor, first)
    _analysed(visitor, second)
    waited = ["/practice/2/end", "/circuits/coolant-ntc/chart", f"{second}?beside=1"]
    _ready(visitor, waited)
    return [
        "/practice/1",
        "/practice/1/measure/signal_cold_at_ct",
        *waited,
        "/circuits/coolant-ntc",
        "/circuits/bring",
        "/sheets/1",
        "/sheets/1/edit",
        "/sheets/1/text",
        "/sheets/1/differences",
        "/captures",
        first,
    ]


def _ready(visitor: Visitor, paths: list[str]) -> None:
    """Wait until what is worked out beside the pages is there."""
    for path in paths:
        for _ in range(600):
            answer = visitor.see(path)
            if answer.status_code == 200 and 'hx-trigger="load delay' not in answer.text:
                break
            time.sleep(0.1)


@pytest.mark.slow
@pytest.mark.parametrize(("width", "scheme"), [(LAPTOP, "light"), (TABLET, "dark"), (PHONE, "light")])
def test_axe_finds_nothing_and_everything_fits_and_can_be_touched(
    windows: Windows, pages: list[str], width: int, scheme: str
) -> None:
    page = windows.open(width, color_scheme=scheme)
    found, small = [], []
    for path in pages:
        page.goto(path)
        found += violations(page)
        fits(page)
        small += [f"{path}: {line}" for line in page.evaluate(SMALL)]
        windows.picture(page, path.strip("/").replace("/", "-").partition("?")[0])
    assert found == []
    assert small == []


def test_a_practice_is_worked_through_by_keyboard_alone(windows: Windows) -> None:
    page = windows.open()
    page.goto("/practice")
    page.get_by_label("Circuit").focus()
    page.keyboard.type("Coolant")
    page.get_by_label("Seed").focus()
    page.keyboard.type("1")
    page.keyboard.press("Enter")
    # The vehicle is made ready beside the pages.
    expect(page.get_by_role("heading", name="What will you do?")).to_be_visible(timeout=60_000)
    for group, choice in (("Compare the colours", "CT: "), ("Measure", "Signal at the sensor, cold, back-probed")):
        page.locator("summary", has_text=group).first.focus()
        page.keyboard.press("Enter")
        page.get_by_role("link", name=choice).first.focus()
        page.keyboard.press("Enter")
        expect(page.get_by_role("button", name="Do it")).to_be_focused()
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="Just now")).to_be_visible()
    expect(page.locator("ol.log > li")).to_have_count(2)
    page.reload()
    expect(page.locator("ol.log > li")).to_have_count(2)
    page.go_back()
    page.goto("/practice/1")
    expect(page.locator("ol.log > li")).to_have_count(2)


def test_a_sheet_says_beside_the_field_what_does_not_fit_and_the_drawing_follows(
    windows: Windows, served: Served
) -> None:
    Visitor(served.bench).send("/circuits/coolant-ntc/sheet")
    page = windows.open()
    page.goto("/sheets/1/edit")
    field = page.get_by_label("Signal wire", exact=True)
    field.fill("brown and green")
    field.press("Tab")
    expect(page.get_by_text("brown, green")).to_be_visible()
    expect(page.locator("#drawing").get_by_text("BN/GN").first).to_be_visible()
    year = page.get_by_label("Year")
    year.fill("19")
    year.press("Tab")
    expect(page.get_by_text("is no year")).to_be_visible()
    page.reload()
    expect(page.get_by_label("Year")).to_have_value("19")
    expect(page.get_by_label("Signal wire", exact=True)).to_have_value("BN/GN")
    page.get_by_label("Year").fill("2019")
    page.get_by_label("Year").press("Tab")
    expect(page.get_by_text("is no year")).to_have_count(0)


@pytest.fixture
def capture(served: Served) -> str:
    """Return the address of a capture that was analysed."""
    visitor = Visitor(served.bench)
    address = _arrived(visitor, _send(visitor, _csv(_crank())))
    _analysed(visitor, address)
    return address


def _stretch(page: Page) -> tuple[float, float]:
    found: list[float] = page.evaluate(
        "() => { const query = new URLSearchParams(location.search);"
        " return [Number(query.get('begin')), Number(query.get('end'))]; }"
    )
    return found[0], found[1]


def test_a_capture_is_zoomed_moved_and_read_by_mouse_and_keyboard(windows: Windows, capture: str) -> None:
    page = windows.open()
    page.goto(capture)
    stage = page.locator(".stage")
    expect(stage.locator("canvas").first).to_be_visible()
    box = stage.locator(".u-over").first.bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 60)
    page.mouse.wheel(0, -600)
    page.wait_for_timeout(600)
    zoomed = _stretch(page)
    assert 0 < zoomed[1] - zoomed[0] < 1.2
    stage.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_timeout(400)
    moved = _stretch(page)
    assert moved[0] == pytest.approx(zoomed[0] + (zoomed[1] - zoomed[0]) / 4)
    page.mouse.click(box["x"] + box["width"] * 0.25, box["y"] + 60)
    page.keyboard.down("Shift")
    page.mouse.click(box["x"] + box["width"] * 0.75, box["y"] + 60)
    page.keyboard.up("Shift")
    expect(page.locator("#values table")).to_be_visible()
    apart = float(page.get_by_label("Cursor B at").input_value()) - float(
        page.get_by_label("Cursor A at").input_value()
    )
    assert apart == pytest.approx((moved[1] - moved[0]) / 2, rel=0.02)
    page.reload()
    expect(stage.locator("canvas").first).to_be_visible()
    assert _stretch(page) == pytest.approx(moved)


def test_a_mark_leads_to_its_place(windows: Windows, capture: str) -> None:
    page = windows.open()
    page.goto(capture)
    expect(page.locator(".stage canvas").first).to_be_visible()
    mark = page.locator("a[data-begin]").first
    begin = float(mark.get_attribute("data-begin") or "nan")
    mark.click()
    page.wait_for_timeout(500)
    assert _stretch(page)[0] == pytest.approx(begin)


def test_a_file_is_dropped_onto_the_page(windows: Windows, tmp_path: Path) -> None:
    page = windows.open()
    page.goto("/captures")
    content = _csv(_crank()).decode()
    page.evaluate(
        """text => {
            const data = new DataTransfer();
            data.items.add(new File([text], 'dropped.csv'));
            document.querySelector('form.drop').dispatchEvent(
                new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
        }""",
        content,
    )
    expect(page.get_by_role("heading", name="dropped.csv")).to_be_visible(timeout=30_000)
    expect(page.locator(".stage canvas").first).to_be_visible()
    # The speed of the wheel comes as a row of its own once the analysis is done, without a reload.
    expect(page.locator(".stage canvas")).to_have_count(2, timeout=30_000)


@pytest.mark.parametrize("path", ["/practice", "/circuits/coolant-ntc", "/captures"])
def test_pages_work_without_scripts(windows: Windows, capture: str, path: str) -> None:
    page = windows.open(java_script_enabled=False)
    page.goto(path)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.goto(capture)
    expect(page.locator("#viewer svg")).to_be_visible()
    page.get_by_role("link", name="In", exact=True).click()
    begin, end = (float(page.url.split(f"{name}=")[1].split("&")[0]) for name in ("begin", "end"))
    assert 0 < begin < end
    page.get_by_label("Cursor A at").fill("0.2")
    page.get_by_role("button", name="Read there").click()
    expect(page.locator("#values table")).to_be_visible()
