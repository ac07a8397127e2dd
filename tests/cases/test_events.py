"""Events: what may stand in them, and that they come back as they were written."""

import json
from typing import Any

import pytest
from pydantic import ValidationError

from proveout.captures.findings import CaptureFindings
from proveout.cases.events import (
    EVENTS,
    AccessDone,
    AdviceShown,
    CannotDo,
    CaptureAttached,
    CircuitChosen,
    Closed,
    Correction,
    Event,
    FindingAccepted,
    HarnessChecked,
    Note,
    Opened,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    RepairProven,
    SetupDone,
    VehicleNoted,
    VehicleRecord,
    decode,
    encode,
    fingerprint,
)
from proveout.errors import InputError, StoreError
from proveout.instruments import Reading

VOLTS = Reading(4.98, over_limit=False, shown="4.98 V", unit="V", resolution=0.01)
ONE_OF_EACH: list[Event] = [
    Opened(vehicle=VehicleRecord(identification="1M8GDM9AXKP042788"), complaint={"starts": "no"}, codes=("P0335",)),
    CircuitChosen(name="c", title="C", text="schema: 1\n", sha256=fingerprint("schema: 1\n")),
    HarnessChecked(connector="CS", seen={"1": "RD/GY"}, agrees=True),
    AccessDone(name="intake", minutes=50),
    SetupDone(name="key_on"),
    ReadingNoted.of("reference", "4,98 V", VOLTS),
    CaptureAttached(
        measurement="reference",
        channel="A",
        name="reference.csv",
        sha256="1" * 64,
        findings=CaptureFindings("reference.csv", "1" * 64).as_dict(),
    ),
    OutcomeNoted(what="look", name="pins", outcome="green"),
    CannotDo(name="reference", because="no room"),
    AdviceShown(step_kind="measure", step="reference", title="Reference", cost_to_end=81.5, sha256="0" * 64),
    FindingAccepted(suspect="w_ref", probability=0.97),
    RepairNoted(suspect="w_ref", minutes=20, parts=6),
    RepairProven(suspect="w_ref", behaviour="starts", before="no", after="yes", cured=True),
    VehicleNoted(here=False, because="comes on Thursday"),
    Note(text="smells of fuel"),
    Correction(corrects=6, because="wrong cavity"),
    Closed(proven=True),
]


def test_every_kind_is_tried_here() -> None:
    assert {type(event) for event in ONE_OF_EACH} == set(EVENTS.values())


@pytest.mark.parametrize("event", ONE_OF_EACH, ids=lambda event: event.kind)
def test_an_event_comes_back_from_its_payload(event: Event) -> None:
    assert decode(event.kind, event.version, encode(event)) == event


@pytest.mark.parametrize("event", ONE_OF_EACH, ids=lambda event: event.kind)
def test_an_event_cannot_be_changed(event: Event) -> None:
    with pytest.raises(ValidationError, match="frozen"):
        setattr(event, next(iter(type(event).model_fields)), "x")


def test_a_payload_has_one_form_only() -> None:
    assert encode(Note(text="Ω")) == '{"text":"Ω"}'
    assert list(json.loads(encode(ONE_OF_EACH[0]))) == sorted(json.loads(encode(ONE_OF_EACH[0])))


def test_a_reading_keeps_the_text_as_typed_beside_what_it_was_read_as() -> None:
    event = ReadingNoted.of("reference", "4,98 V", VOLTS)
    assert (event.typed, event.reading) == ("4,98 V", VOLTS)


def test_a_circuit_whose_text_was_changed_is_not_taken() -> None:
    with pytest.raises(ValidationError, match="does not belong to its text"):
        CircuitChosen(name="c", title="C", text="schema: 2\n", sha256=fingerprint("schema: 1\n"))


def test_a_wrong_identification_number_does_not_get_into_a_case() -> None:
    with pytest.raises(InputError, match="position 9"):
        VehicleRecord(identification="1M8GDM9A1KP042788")


@pytest.mark.parametrize("code", ["335", "P4335", "p0335", "P033G"])
def test_a_code_has_the_form_of_a_trouble_code(code: str) -> None:
    # SAE J2012: a letter P, B, C or U, a digit 0 to 3, three hexadecimal digits; a failure type byte may follow.
    with pytest.raises(ValidationError):
        Opened(codes=(code,))


@pytest.mark.parametrize("minutes", [-1.0, float("nan"), float("inf")])
def test_minutes_are_a_number_from_zero(minutes: float) -> None:
    with pytest.raises(ValidationError):
        AccessDone(name="intake", minutes=minutes)


@pytest.mark.parametrize("payload", ['{"text": ""}', "{}", "no json", '{"text": "a", "more": 1}'])
def test_a_damaged_payload_is_an_error_of_the_store(payload: str) -> None:
    with pytest.raises(StoreError, match=r"event 'note'.*Restore the store from a copy"):
        decode("note", 1, payload)


@pytest.mark.parametrize(("kind", "version"), [("dreamt", 1), ("note", 2)])
def test_an_unknown_kind_or_version_asks_for_a_newer_program(kind: str, version: int) -> None:
    with pytest.raises(StoreError, match=r"does not know.*Update Proveout"):
        decode(kind, version, "{}")


def test_a_replacement_keeps_its_payload_as_it_is() -> None:
    payload: dict[str, Any] = {"text": "better"}
    assert Correction(corrects=2, payload=payload).payload == payload


def test_a_reading_stored_before_wiggling_was_noted_was_taken_at_rest() -> None:
    stored = json.loads(encode(ReadingNoted.of("reference", "4,98 V", VOLTS)))
    del stored["disturbed"]
    event = decode("reading-taken", 1, json.dumps(stored))
    assert isinstance(event, ReadingNoted)
    assert not event.disturbed


@pytest.mark.parametrize("extra", [{"what": "look"}, {"what": "behaviour", "past": True}])
def test_only_a_behaviour_watched_now_is_watched_while_wiggling(extra: dict[str, object]) -> None:
    with pytest.raises(ValidationError, match="wiggled goes with a behaviour watched now"):
        OutcomeNoted.model_validate({"name": "pins", "outcome": "green", "disturbed": True, **extra})
