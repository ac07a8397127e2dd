"""The list of cases: by where they stand, found by any word a garage knows them by."""

from __future__ import annotations

import pytest

from proveout.cases.events import Closed, VehicleNoted
from proveout.web import Workbench
from web.visitor import Visitor, open_demo


def _numbers(visitor: Visitor, query: str) -> list[int]:
    return [row["case"] for row in visitor.data(f"/cases.json?{query}")["cases"]]


def test_cases_stand_under_open_waiting_or_closed_the_newest_first(visitor: Visitor, bench: Workbench) -> None:
    for _ in range(3):
        open_demo(bench)
    bench.desk.record(2, VehicleNoted(here=False, because="comes on Thursday"))
    bench.desk.record(3, Closed(proven=False, because="sold"))
    assert _numbers(visitor, "") == [4, 1]
    assert _numbers(visitor, "show=waiting") == [2]
    assert _numbers(visitor, "show=closed") == [3]
    assert visitor.data("/cases.json")["counts"] == {"open": 2, "waiting": 1, "closed": 1}
    bench.desk.record(2, VehicleNoted(here=True))
    assert _numbers(visitor, "") == [4, 2, 1]


@pytest.mark.parametrize("words", ["DEMO-1142", "lapwing", "5z9lw18b4hk", "DEMO 417", "arkwell", "p0335", "damp", "1"])
def test_a_case_is_found_by_any_word_it_is_known_by(visitor: Visitor, words: str) -> None:
    assert _numbers(visitor, f"find={words}") == [1]
    assert _numbers(visitor, f"find={words}+kingfisher") == []


def test_a_search_shows_a_closed_case_without_being_told_where_to_look(visitor: Visitor, bench: Workbench) -> None:
    bench.desk.record(1, Closed(proven=False, because="sold"))
    assert _numbers(visitor, "find=lapwing") == [1]


def test_an_empty_store_says_so(tmp_path_factory: pytest.TempPathFactory) -> None:
    visitor = Visitor(Workbench(tmp_path_factory.mktemp("empty") / "cases.db"))
    assert "No cases here." in visitor.see("/cases").text
