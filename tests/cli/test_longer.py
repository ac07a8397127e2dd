"""Commands that take their time: chart, report, demo."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from cli.running import LAMP, Garage

pytestmark = pytest.mark.slow


def test_a_chart_is_printed_and_its_ends_are_repairs(garage: Garage) -> None:
    twin = garage.twin("chart", str(LAMP), "--proof")
    nodes = {node["number"]: node for node in twin["nodes"]}
    assert twin["root"] in nodes
    for node in nodes.values():
        assert all(branch["to"] in nodes for branch in node.get("branches", []))
    assert {node["suspect"] for node in nodes.values() if node["kind"] == "repair"} >= {"w_feed", "w_gnd"}
    assert 0.5 < twin["proof"]["coverage"] <= 1.0
    says = garage.ok("chart", str(LAMP))
    assert "├─" in says
    assert "Lay a new wire" in says


def test_the_chart_of_a_case_starts_from_what_is_known(garage: Garage) -> None:
    garage.lamp()
    whole = garage.twin("chart", str(LAMP), "--proof")["proof"]["expected_minutes"]
    garage.ok("access", "guard")
    garage.ok("harness", "C1", "1=RD/WH", "2=BN")
    for name, value in (("battery_volts", "12.54"), ("lamp_volts", "8.27")):
        garage.ok("reading", name, value)
    assert garage.twin("chart", "--proof")["proof"]["expected_minutes"] < whole


def test_a_chart_is_drawn_page_by_page(garage: Garage) -> None:
    files = garage.twin("chart", str(LAMP), "--svg", "-o", str(garage.folder / "charts"))["files"]
    assert files
    assert all(Path(file).read_text("utf-8").startswith("<svg") for file in files)


def test_a_service_chart_is_proven_beside(garage: Garage) -> None:
    twin = garage.twin("chart", "crank-hall-5v", "--service", "crank-hall-5v")
    assert twin["service"]["title"]
    assert twin["proof"]["coverage"] > twin["service"]["coverage"]
    assert "cannot be read" in garage.refused("chart", "crank-hall-5v", "--service", "nowhere.yaml")


def test_a_report_is_one_page_file_and_one_print_with_the_same_facts(garage: Garage) -> None:
    garage.lamp("--order", "RO-9", "--vin", "1M8GDM9AXKP042788")
    garage.ok("harness", "C1", "1=RD/WH", "2=BN")
    garage.ok("reading", "lamp_volts", "8.27")
    garage.ok("reading", "ground_drop", "1.46")
    garage.ok("correct", "5", "--value", "0.146")
    garage.ok("repair", "w_feed", "--minutes", "22")
    garage.ok("proof", "bright")
    twin = garage.twin("report", "-o", str(garage.folder / "out"), "--paper", "letter")
    html, pdf = (Path(file) for file in twin["files"])
    page = html.read_text("utf-8")
    printed = " ".join("".join(sheet.extract_text() for sheet in PdfReader(pdf).pages).split())
    for fact in ("RO-9", "1M8GDM9AXKP042788", "8.27 V", "burns brightly", "cured"):
        assert fact in page
        assert fact in printed
    assert "corrected by entry 6" in page
    assert "<script" not in page
    assert "http" not in page.replace("http://www.w3.org", "")


def test_a_report_that_cannot_be_written_names_the_place(garage: Garage) -> None:
    garage.lamp()
    (garage.folder / "file").write_text("in the way")
    assert "cannot be written" in garage.refused("report", "-o", str(garage.folder / "file" / "out"))


def test_the_demo_finds_the_terminal_and_leaves_the_sensor_in(garage: Garage) -> None:
    folder = garage.folder / "demo"
    says = garage.ok("demo", "-o", str(folder))
    assert "Everything in it is invented" in says
    assert "Proven and closed." in says
    assert str(folder / "case-1.html") in says
    twin = json.loads(garage.ok("demo", "-o", str(folder), "--json"))
    assert twin["case"]["phase"] == "closed"
    assert twin["case"]["proofs"][-1]["suspect"] == "ce_terminal"
    assert twin["case"]["spent"]["minutes"] < 90
    assert "Take the intake manifold off" not in twin["case"]["opened_access"]
    assert all(Path(file).stat().st_size > 10_000 for file in twin["files"])
    kinds = [step["done"]["kind"] for step in twin["steps"]]
    assert kinds.index("harness-checked") < kinds.index("reading-taken")
    assert kinds[-1] == "repair-proven"
