"""Severities are written with their unit; SI prefixes as in the SI Brochure (9th edition, table 7)."""

import math

import pytest

from proveout.diagnosis.severity_text import severity_span, severity_unit
from proveout.network import ELEMENTS


@pytest.mark.parametrize(
    ("low", "high", "unit", "text"),
    [
        (1040.0, 37000.0, "Ω", "1.04 kΩ to 37.0 kΩ"),
        (211.0, 16700.0, "Ω", "211 Ω to 16.7 kΩ"),
        (0.3, 0.3, "V", "300 mV"),
        (1.3, 4.0, "x", "x 1.3 to x 4"),
        (1120.0, 92000.0, "x", "x 1100 to x 92000"),
        (0.2, 0.5, "", "0.2 to 0.5"),
        (math.inf, math.inf, "Ω", ""),
    ],
)
def test_a_span_of_severities_has_a_unit(low: float, high: float, unit: str, text: str) -> None:
    assert severity_span(low, high, unit) == text


def test_the_unit_is_that_of_what_the_fault_changes() -> None:
    units = {
        f"{kind}.{mode.name}": severity_unit(kind, mode)
        for kind, element in ELEMENTS.items()
        for mode in element.faults
    }
    assert units["wire.resistive"] == "Ω"
    for kind, element in ELEMENTS.items():
        for mode in element.faults:
            assert (units[f"{kind}.{mode.name}"] == "x") == mode.relative
            assert mode.forced is None or units[f"{kind}.{mode.name}"] == ""
