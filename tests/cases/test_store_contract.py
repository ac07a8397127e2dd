"""One contract, every store: what a case store promises."""

import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cases.stores import KINDS, NOON, a_store, notes, opened
from proveout.cases.chain import FIRST, seal
from proveout.cases.events import Note, Opened, encode
from proveout.cases.store import CaseStore
from proveout.errors import InputError


@pytest.fixture(params=KINDS)
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[CaseStore]:
    with a_store(request.param, tmp_path) as made:
        yield made


def test_an_empty_store_has_no_cases_and_no_current_case(store: CaseStore) -> None:
    assert store.cases() == ()
    assert store.current() is None


def test_a_store_counts_the_events_of_each_case_without_reading_them(store: CaseStore) -> None:
    assert store.lengths() == {}
    first, second = store.open_case(opened(), NOON), store.open_case(opened(), NOON)
    store.append(first, notes("one", "two"), NOON)
    assert store.lengths() == {first: 3, second: 1}


def test_a_case_keeps_its_events_in_order_with_numbers_from_one(store: CaseStore) -> None:
    case = store.open_case(opened(), NOON)
    added = store.append(case, notes("first", "second"), NOON + timedelta(minutes=3))
    events = store.events(case)
    assert [stored.number for stored in events] == [1, 2, 3]
    assert [stored.event for stored in events] == [*opened(), *notes("first", "second")]
    assert events[1:] == added
    assert events[2].at == datetime(2031, 3, 5, 12, 3, tzinfo=UTC)


def test_times_are_kept_in_utc_whatever_zone_they_were_given_in(store: CaseStore) -> None:
    case = store.open_case(opened(), datetime(2031, 3, 5, 13, 0, tzinfo=timezone(timedelta(hours=1))))
    assert store.events(case)[0].at == NOON


def test_a_time_without_a_zone_is_refused_and_nothing_is_stored(store: CaseStore) -> None:
    case = store.open_case(opened(), NOON)
    with pytest.raises(InputError, match=r"has no zone"):
        store.append(case, notes("late"), datetime(2031, 3, 5, 12, 0))
    assert len(store.events(case)) == 1


def test_each_seal_covers_its_event_and_the_seal_before(store: CaseStore) -> None:
    case = store.open_case(opened(), NOON)
    store.append(case, notes("a"), NOON)
    first, second = store.events(case)
    time = "2031-03-05T12:00:00.000000+00:00"
    assert first.seal == seal(FIRST, case, 1, time, "opened", 1, encode(first.event))
    assert second.seal == seal(first.seal, case, 2, time, "note", 1, encode(second.event))


def test_cases_do_not_mix(store: CaseStore) -> None:
    one, two = store.open_case(opened("one"), NOON), store.open_case(opened("two"), NOON)
    store.append(one, notes("of one"), NOON)
    assert store.cases() == (one, two)
    assert [type(stored.event) for stored in store.events(one)] == [Opened, Note]
    assert [type(stored.event) for stored in store.events(two)] == [Opened]


def test_the_case_last_opened_is_current_until_another_is_chosen(store: CaseStore) -> None:
    one, two = store.open_case(opened(), NOON), store.open_case(opened(), NOON)
    assert store.current() == two
    store.make_current(one)
    assert store.current() == one


def test_a_case_that_does_not_exist_is_named_with_the_last_one_there(store: CaseStore) -> None:
    with pytest.raises(InputError, match=r"no case 7; the store is empty.*proveout open"):
        store.events(7)
    store.open_case(opened(), NOON)
    for call in (lambda: store.events(7), lambda: store.make_current(7), lambda: store.append(7, notes("x"), NOON)):
        with pytest.raises(InputError, match=r"no case 7; the last one is 1"):
            call()


def test_two_writers_at_once_lose_no_event(store: CaseStore) -> None:
    case = store.open_case(opened(), NOON)

    def write(name: str) -> None:
        for count in range(15):
            store.append(case, notes(f"{name}{count}"), NOON)

    writers = [threading.Thread(target=write, args=(name,)) for name in "ab"]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    texts = [stored.event.text for stored in store.events(case) if isinstance(stored.event, Note)]
    assert sorted(texts) == sorted(f"{name}{count}" for name in "ab" for count in range(15))
    for name in "ab":
        assert [text for text in texts if text.startswith(name)] == [f"{name}{count}" for count in range(15)]


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(texts=st.lists(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40), max_size=4))
def test_any_text_comes_back_as_it_was_stored(store: CaseStore, texts: list[str]) -> None:
    case = store.open_case(opened(), NOON)
    if texts:
        store.append(case, notes(*texts), NOON)
    assert [stored.event for stored in store.events(case)[1:]] == list(notes(*texts))
