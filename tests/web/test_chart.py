"""The flow chart on the page: derived beside the pages, once; the way of a case; printing."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

from proveout.cases.events import HarnessChecked, ReadingNoted
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.instruments import Reading
from proveout.web import Workbench
from web.visitor import Visitor


def _waited(visitor: Visitor, path: str) -> Any:
    for _ in range(600):
        answer = visitor.see(path)
        if answer.status_code == 200:
            return answer.json()
        assert answer.status_code == 202
        time.sleep(0.1)
    raise AssertionError("no chart")


def test_a_chart_is_derived_once_says_so_meanwhile_and_survives_a_restart(
    tmp_path: Path, compiled: Path, visitor: Visitor
) -> None:
    answer = visitor.see("/circuits/coolant-ntc/chart")
    assert answer.status_code in (200, 202)
    if answer.status_code == 202:
        assert "being derived" in answer.text
        assert visitor.see("/cases").status_code == 200
    first = _waited(visitor, "/circuits/coolant-ntc/chart.json")
    again = Visitor(Workbench(tmp_path / "other.db", compiled))
    began = time.monotonic()
    assert _waited(again, "/circuits/coolant-ntc/chart.json") == first
    assert time.monotonic() - began < 2.0


def test_the_proof_stands_beside_that_of_the_service_chart(visitor: Visitor) -> None:
    told = _waited(visitor, "/circuits/coolant-ntc/chart.json")
    assert told["proof"]["minutes_to_cure"] < told["service"]["minutes_to_cure"]
    page = visitor.see("/circuits/coolant-ntc/chart").text
    assert told["service"]["title"] in page
    assert "Does not find" in page


def test_the_way_of_a_case_is_told_and_drawn(bench: Workbench, visitor: Visitor) -> None:
    case = visitor.send("/cases/new", {"circuit": "coolant-ntc", "concern": "thirsty"}).headers["location"]
    told = _waited(visitor, f"{case}/chart.json")
    assert told["taken"]["boxes"] == [told["root"]]
    number = int(case.rpartition("/")[2])
    circuit = bench.desk.state(number).circuit
    root = next(node for node in told["nodes"] if node["number"] == told["root"])
    assert root["kind"] == "measure"
    for connector in circuit.connectors:
        seen = {c.cavity: colour_text(c.colours) for c in expected_cavities(circuit, connector) if c.colours}
        bench.desk.record(number, HarnessChecked(connector=connector, seen=seen, agrees=True))
    branch = next(b for b in root["branches"] if b["low"] is not None and b["high"] is not None)
    value = (branch["low"] + branch["high"]) / 2
    reading = Reading(value, False, f"{value:.3f} V", "V", 0.001)
    bench.desk.record(number, ReadingNoted.of(root["name"], reading.shown, reading))
    after = visitor.data(f"{case}/chart.json")
    assert after["taken"]["boxes"] == [told["root"], branch["to"]]
    page = visitor.see(f"{case}/chart").text
    assert "Here it stands" in page
    assert "way of this case" in page


def test_a_chart_is_printed_on_either_paper(visitor: Visitor) -> None:
    _waited(visitor, "/circuits/coolant-ntc/chart.json")
    for paper in ("a4", "letter"):
        answer = visitor.see(f"/circuits/coolant-ntc/chart.pdf?paper={paper}")
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")
        assert f"landscape {paper}" in visitor.see(f"/circuits/coolant-ntc/chart?paper={paper}").text


def test_there_is_no_chart_of_what_is_not_there(visitor: Visitor) -> None:
    for path in ("/circuits/nothing/chart", "/sheets/9/chart"):
        assert visitor.see(path).status_code == 404
