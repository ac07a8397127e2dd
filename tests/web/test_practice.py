"""The practice page: a vehicle comes in by its code, is worked on, and tells its fault only when it is handed over."""

from __future__ import annotations

import re
import time
from typing import Any

import httpx

from proveout.practice import Task
from proveout.web import Workbench
from web.visitor import Visitor

LAST = re.compile(r'name="last" value="(\d+)"')


def _start(visitor: Visitor, **fields: str) -> int:
    wanted = {"circuit": "coolant-ntc", "difficulty": "easy", "seed": "1", **fields}
    answer = visitor.send("/practice", wanted)
    for _ in range(600):
        if answer.status_code != 202 and "coming" not in answer.headers.get("location", ""):
            break
        time.sleep(0.1)
        answer = visitor.see(answer.headers.get("location", str(answer.request.url.path)))
    assert answer.status_code == 303, answer.text
    return int(answer.headers["location"].rpartition("/")[2])


def _do(visitor: Visitor, number: int, kind: str, name: str, **fields: str) -> httpx.Response:
    address = f"/practice/{number}/{kind}/{name}"
    shown = LAST.search(visitor.see(address).text)
    return visitor.send(address, {"last": shown[1] if shown else "", **fields})


def _finish(visitor: Visitor, number: int) -> Any:
    visitor.send(f"/practice/{number}/hand-over", {"because": "enough"})
    for _ in range(100):
        answer = visitor.see(f"/practice/{number}/end.json")
        if answer.status_code == 200:
            return answer.json()
        time.sleep(0.1)
    raise AssertionError("no end")


def test_a_vehicle_comes_in_by_circuit_difficulty_and_seed_and_again_by_its_code(visitor: Visitor) -> None:
    first = visitor.data(f"/practice/{_start(visitor)}.json")
    again = visitor.data(f"/practice/{_start(visitor, code=first['code'].lower())}.json")
    assert first["code"] == again["code"] == Task("coolant-ntc", "easy", 1).code
    assert first["complaint"] == again["complaint"]


def test_what_cannot_be_practised_is_said_beside_what_was_typed(visitor: Visitor) -> None:
    for fields, said in (
        ({"code": "nonsense!"}, "is no practice code"),
        ({"circuit": "coolant-ntc", "difficulty": "easy", "seed": "-3"}, "no whole number"),
        ({"circuit": "coolant-ntc", "difficulty": "easy", "seed": "99999999"}, "out of range"),
        ({"circuit": "<b>", "difficulty": "easy", "seed": "1"}, "&lt;b&gt;"),
    ):
        answer = visitor.send("/practice", fields)
        assert answer.status_code == 422
        assert said in answer.text
        assert "<b>" not in answer.text


def test_no_probe_goes_in_before_the_colours_were_compared(visitor: Visitor) -> None:
    number = _start(visitor)
    page = visitor.see(f"/practice/{number}/measure/signal_cold_at_ct").text
    assert f"/practice/{number}/compare/CT" in page
    assert "Do it" not in page
    assert _do(visitor, number, "measure", "signal_cold_at_ct").status_code == 422
    assert visitor.data(f"/practice/{number}.json")["log"] == []
    assert _do(visitor, number, "compare", "CT").status_code == 303
    assert _do(visitor, number, "measure", "signal_cold_at_ct").status_code == 303
    log = visitor.data(f"/practice/{number}.json")["log"]
    assert [entry["kind"] for entry in log] == ["harness-checked", "reading-taken"]


def test_a_second_window_is_told_that_the_vehicle_has_gone_on(visitor: Visitor) -> None:
    number = _start(visitor)
    address = f"/practice/{number}/watch/running"
    last = LAST.search(visitor.see(address).text)
    assert last
    assert visitor.send(address, {"last": last[1]}).status_code == 303
    assert visitor.send(address, {"last": last[1]}).status_code == 409
    assert len(visitor.data(f"/practice/{number}.json")["log"]) == 1


def test_neither_page_nor_twin_tells_the_fault_before_the_vehicle_is_handed_over(
    bench: Workbench, visitor: Visitor
) -> None:
    number = _start(visitor)
    vehicle = bench.practices.work(number).vehicle
    other = next(
        seed
        for seed in range(2, 60)
        if bench.practices.work(bench.practices.start(Task("coolant-ntc", "easy", seed))).vehicle.suspect
        != vehicle.suspect
        and bench.practices.state(bench.practices.numbers()[-1]).opened.complaint
        == bench.practices.state(number).opened.complaint
    )
    twin = _start(visitor, seed=str(other))
    pages = []
    for n in (number, twin):
        text = visitor.see(f"/practice/{n}").text
        for own in (f"/practice/{n}", visitor.data(f"/practice/{n}.json")["code"]):
            text = text.replace(own, "")
        pages.append(re.sub(r'name="token" value="[0-9a-f]+"', "", text))
    assert pages[0] == pages[1]
    assert visitor.see(f"/practice/{number}/end").headers["location"] == f"/practice/{number}"
    assert visitor.see(f"/practice/{number}/paths.svg").status_code == 422


def test_at_the_end_both_paths_stand_on_one_clock(visitor: Visitor) -> None:
    number = _start(visitor)
    _do(visitor, number, "compare", "CT")
    _do(visitor, number, "measure", "signal_cold_at_ct")
    told = _finish(visitor, number)
    assert told["truth"]["suspect"]
    assert told["own"]["comeback"] > 0
    assert told["planner"]["found"]
    page = visitor.see(f"/practice/{number}/end").text
    assert told["truth"]["title"] in page
    assert visitor.see(f"/practice/{number}/paths.svg").text.startswith("<svg")


def test_a_repair_is_proven_and_the_vehicle_handed_over(bench: Workbench, visitor: Visitor) -> None:
    number = _start(visitor)
    right = bench.practices.work(number).vehicle.suspect.name
    assert _do(visitor, number, "repair", right).status_code == 303
    assert visitor.send(f"/practice/{number}/prove").status_code == 303
    assert visitor.data(f"/practice/{number}.json")["phase"] == "proven"
    told = _finish(visitor, number)
    assert told["own"]["found"]
    assert told["own"]["comeback"] == 0


def test_there_is_no_page_of_a_vehicle_or_a_step_that_is_not_there(visitor: Visitor) -> None:
    number = _start(visitor)
    for path in ("/practice/99", f"/practice/{number}/measure/nothing", f"/practice/{number}/fault/at", "/practice/x"):
        assert visitor.see(path).status_code == 404


def test_the_page_speaks_spanish(bench: Workbench) -> None:
    visitor = Visitor(bench, language="es")
    number = _start(visitor)
    assert "Con qué entró" in visitor.see(f"/practice/{number}").text
    assert "Vehículos hasta ahora" in visitor.see("/practice").text


def test_a_page_that_waits_is_left_for_the_one_it_waited_for(visitor: Visitor) -> None:
    number = _start(visitor)
    answer = visitor.see(f"/practice/{number}", **{"hx-request": "true"})
    assert answer.headers["hx-redirect"] == f"/practice/{number}"
    _finish(visitor, number)
    assert visitor.see(f"/practice/{number}/end", **{"hx-request": "true"}).headers["hx-redirect"].endswith("/end")
