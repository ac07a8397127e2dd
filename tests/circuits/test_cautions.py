"""The cautions: the ones the trade asks for, each leaving the last word to the vehicle maker's procedure."""

from __future__ import annotations

import pytest

from proveout.circuits import caution_text, caution_texts
from proveout.errors import InputError

ASKED_FOR = {
    "rotating-parts",
    "hot-coolant",
    "battery-first",
    "high-voltage",
    "restraint",
    "supported-vehicle",
    "no-ohms-live",
    "no-test-lamp",
    "back-probe",
    "fuel",
    "starter-current",
    "brakes",
    "short-circuit",
    "hot-exhaust",
}


def test_every_caution_is_there_and_defers_to_the_vehicle_maker() -> None:
    assert caution_texts().keys() >= ASKED_FOR
    assert [name for name, text in caution_texts().items() if "vehicle maker" not in text] == []


def test_orange_cables_are_for_qualified_staff_only() -> None:
    text = caution_text("high-voltage")
    assert "Orange" in text and "qualified staff only" in text


def test_an_unknown_caution_is_refused_with_the_list() -> None:
    with pytest.raises(InputError, match=r"unknown caution 'nothing'.*battery-first"):
        caution_text("nothing")
