"""A correction is an event of its own: what was written stays, what counts changes."""

from datetime import timedelta

import pytest

from cases.stores import NOON
from proveout.cases.corrections import check_correction, fates, standing
from proveout.cases.events import AdviceShown, Correction, Event, Note, Opened
from proveout.cases.store import StoredEvent
from proveout.errors import InputError

ADVICE = AdviceShown(step_kind="look", step="pins", title="Pins", cost_to_end=1.0, sha256="0" * 64)


def _stored(*events: Event) -> tuple[StoredEvent, ...]:
    return tuple(StoredEvent(k, NOON + timedelta(minutes=k), event, "") for k, event in enumerate(events, 1))


def _texts(*events: Event) -> list[str]:
    return [stored.event.text for stored in standing(_stored(*events)) if isinstance(stored.event, Note)]


def test_a_withdrawn_event_does_not_count_and_a_replaced_one_keeps_its_place() -> None:
    a, b = Note(text="a"), Note(text="b")
    assert _texts(Opened(), a, b, Correction(corrects=2)) == ["b"]
    assert _texts(Opened(), a, b, Correction(corrects=2, payload={"text": "better"})) == ["better", "b"]


def test_the_last_of_two_corrections_counts() -> None:
    first, second = Correction(corrects=2, payload={"text": "x"}), Correction(corrects=2, payload={"text": "y"})
    assert _texts(Opened(), Note(text="a"), first, second) == ["y"]


def test_withdrawing_a_correction_brings_the_event_back() -> None:
    assert _texts(Opened(), Note(text="a"), Correction(corrects=2), Correction(corrects=3)) == ["a"]


def test_the_fate_of_an_event_names_the_correction() -> None:
    fate = fates(_stored(Opened(), Note(text="a"), Correction(corrects=2)))
    assert {number: (f.by, f.replacement) for number, f in fate.items()} == {2: (3, None)}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (Correction(corrects=9), r"no entry 9.*has 5.*proveout log"),
        (Correction(corrects=1), r"'opened', without which there is no case"),
        (Correction(corrects=3), r"advice that was shown"),
        (Correction(corrects=2), r"corrected already"),
        (Correction(corrects=4, payload={"text": "x"}), r"a correction itself: withdraw it"),
        (Correction(corrects=5, payload={"texts": "x"}), r"replacement for event 5 cannot be read.*text"),
    ],
)
def test_a_correction_that_makes_no_sense_is_refused(change: Correction, says: str) -> None:
    events = _stored(Opened(), Note(text="a"), ADVICE, Correction(corrects=2), Note(text="b"))
    with pytest.raises(InputError, match=says):
        check_correction(events, change)


def test_the_opening_can_be_put_right() -> None:
    events = _stored(Opened(concern="no start"))
    change = Correction(corrects=1, payload={"concern": "starts late"})
    check_correction(events, change)
    (opened,) = standing((*events, *_stored(Note(text="-"), change)[1:]))
    assert opened.event == Opened(concern="starts late")
