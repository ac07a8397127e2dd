"""The demo case worked in a browser, by pointing or by keyboard alone."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import FilePayload, Locator, Page, expect

from proveout.demo.opening import demo_file, demo_readings, demo_scenario
from web.story import outcome_of, reading_of

Act = Callable[[Locator], None]
Between = Callable[[Page], None]
_MOST_STEPS = 30


def by_pointing(control: Locator) -> None:
    """Use a control by mouse or finger."""
    control.click()


def by_keyboard(control: Locator) -> None:
    """Go to a control with the Tab key alone, and use it."""
    page = control.page
    control.wait_for()
    for _ in range(300):
        if control.evaluate("element => element === document.activeElement"):
            page.keyboard.press("Space" if control.get_attribute("type") in ("checkbox", "radio") else "Enter")
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{control} cannot be reached with the Tab key")


def entries(page: Page) -> int:
    """Return the number of the last entry that the page shows."""
    return int(page.locator(".evidence > li").first.get_attribute("value") or 0)


def entered(page: Page, act: Callable[[], None]) -> None:
    """Do something that notes an entry, and wait until the page shows the entry."""
    before = entries(page)
    act()
    expect(page.locator(".evidence > li").first).not_to_have_attribute("value", str(before))
    expect(page.locator(".htmx-request, .htmx-settling, .htmx-swapping")).to_have_count(0)


def work(page: Page, act: Act = by_pointing, between: Between = lambda page: None) -> None:
    """Do what the page advises until it advises a repair."""
    page.locator(".evidence").wait_for(timeout=60_000)  # a circuit that is new here is worked out first
    for _ in range(_MOST_STEPS):
        between(page)
        if page.get_by_role("button", name="Take this as the cause").count():
            return
        entered(page, lambda: _step(page, act))
    raise AssertionError("the demo case comes to no end")


def finish(page: Page, act: Act = by_pointing, between: Between = lambda page: None) -> None:
    """Take the advised repair as the cause, repair it, take the telling reading again, prove it and close."""
    truth = demo_scenario()["repair"]
    entered(page, lambda: act(page.get_by_role("button", name="Take this as the cause")))
    between(page)
    page.get_by_label("What was done").fill(truth["note"])
    page.get_by_label("Real minutes").first.fill(str(truth["minutes"]))
    page.get_by_label("Money for parts").fill(str(truth["parts"]))
    between(page)
    entered(page, lambda: act(page.get_by_role("button", name="It is repaired")))
    between(page)
    again = page.get_by_role("link", name="First take the telling reading again")
    act(again)
    _type_reading(page, "after", act)
    between(page)
    outcome = demo_scenario()["proof"]["outcome"]
    entered(page, lambda: act(page.locator(f"button[name=outcome][value={outcome}]")))
    between(page)
    report = take_report(page)
    assert report.startswith(b"%PDF-")
    entered(page, lambda: act(page.get_by_role("button", name="Close the case")))
    expect(page.get_by_role("heading", name="This case is closed")).to_be_visible()


def take_report(page: Page) -> bytes:
    """Go to the report, take its PDF, and come back to the case."""
    case = page.url
    page.get_by_role("link", name="Report", exact=True).first.click()
    expect(page.frame_locator("iframe").first.get_by_text("Concern").first).to_be_visible()
    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF").first.click()
    page.goto(case)
    return taken.value.path().read_bytes()


def start(page: Page) -> None:
    """Start the demo case by the form, with the vehicle's own sheet as a file."""
    opening = demo_scenario()["opening"]
    page.goto("/cases")
    page.get_by_role("link", name="Start a case").click()
    page.get_by_text("Or the file of the vehicle's own sheet").click()
    sheet = FilePayload(
        name="../../etc/passwd.yaml", mimeType="text/yaml", buffer=demo_file("lapwing-crank.yaml").encode()
    )
    page.get_by_label("Circuit file").set_input_files(sheet)
    page.get_by_label("Which circuit is the complaint about?").select_option("crank-hall-5v")
    page.get_by_label("cranks long, then starts late on the cam signal").check()
    page.get_by_label("In the customer's own words").fill(opening["concern"])
    page.get_by_label("Trouble codes").fill("p0335")
    number = page.get_by_label("Identification number")
    number.fill("1M8GDM9A1KP042788")
    expect(page.get_by_text("49 CFR 565")).to_be_visible()
    number.fill("1M8GDM9AXKP042788")
    expect(page.get_by_text("the check digit is right")).to_be_visible()
    for label, name in (("Make", "make"), ("Model", "model"), ("Model year", "year")):
        page.get_by_label(label, exact=True).fill(str(opening["vehicle"][name]))
    page.get_by_label("Minutes authorised").fill("90")
    page.get_by_label("Labour rate an hour").fill("96")
    page.get_by_role("button", name="Open the case").click()


def _step(page: Page, act: Act) -> None:
    compare = page.locator("form[action$='/harness']")
    if compare.count():
        _compare(compare.first, act)
    elif page.locator("#typed").count():
        _type_reading(page, "before", act, wait=False)
    else:
        form = page.locator("form[action$='/outcome']")
        kind, _, name = str(form.locator("input[name=do]").get_attribute("value")).partition(".")
        act(form.locator(f"button[value={outcome_of(kind, name)}]"))


def _compare(form: Locator, act: Act) -> None:
    connector = str(form.locator("input[name=connector]").get_attribute("value"))
    for cavity in demo_readings()["harness"][connector]:
        act(form.locator(f"input[name='same.{cavity}']"))
    act(form.get_by_role("button"))


def _type_reading(page: Page, when: str, act: Act, *, wait: bool = True) -> None:
    field = page.locator("#typed")
    field.wait_for()
    name = str(page.locator("form.reading input[name=name]").get_attribute("value"))
    if act is by_keyboard:
        _tab_to(field)
    else:
        field.click()
    page.keyboard.type(reading_of(name, when).replace("Ω", "ohm"))
    expect(page.locator("#read-as")).to_contain_text("Will be read as")
    if wait:
        entered(page, lambda: page.keyboard.press("Enter"))
    else:
        page.keyboard.press("Enter")


def _tab_to(field: Locator) -> None:
    for _ in range(300):
        if field.evaluate("element => element === document.activeElement"):
            return
        field.page.keyboard.press("Tab")
    raise AssertionError("the reading field cannot be reached with the Tab key")
