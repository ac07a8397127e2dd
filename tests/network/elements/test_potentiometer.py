"""A potentiometer's divider."""

from __future__ import annotations

import pytest

from network.small_networks import IDEAL, Part, voltages


@pytest.mark.parametrize(
    ("values", "volts"),
    [
        ({"position": 0.3}, 1.5),
        ({"position": 0.0}, 5.0 / 4001.0),
        ({"position": 0.6, "gain": 0.5}, 1.5),
        ({"position": 0.3, "extra_low": float("inf")}, 5.0),
        ({"position": 0.3, "extra_high": float("inf")}, 0.0),
        ({"position": 0.25, "extra_high": 4000.0}, 0.625),
    ],
)
def test_the_wiper_divides_the_track(values: dict[str, float], volts: float) -> None:
    """By hand: position x 5 V over 4 kilohm with one ohm left at its ends; a broken end ties the wiper to the other."""
    parts: list[Part] = [
        ("rail", "battery", ("plus", "gnd"), {"emf": 5.0, **IDEAL}),
        ("pot", "potentiometer", ("plus", "wiper", "gnd"), values),
    ]
    assert voltages(parts, leakage=1e12)["wiper"] == pytest.approx(volts, rel=1e-6, abs=1e-6)


def test_an_open_wiper_floats_down_to_the_meter() -> None:
    parts: list[Part] = [
        ("rail", "battery", ("plus", "gnd"), {"emf": 5.0, **IDEAL}),
        ("pot", "potentiometer", ("plus", "wiper", "gnd"), {"position": 0.5, "wiper": float("inf")}),
        ("meter", "meter_load", ("wiper", "gnd"), {}),
    ]
    assert voltages(parts)["wiper"] == 0.0
