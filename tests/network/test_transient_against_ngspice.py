"""Switching a battery onto RC, RL and RLC: the implicit method against the closed forms and against ngspice.

Closed forms: the step responses of first- and second-order circuits, as in any circuit textbook (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest

from proveout.network import ELEMENTS, Netlist, PartState, Placed
from proveout.network.transient import solve_transient
from reference import ngspice
from reference.shared_ngspice import ACCURACY

Series = npt.NDArray[np.float64]

EMF, SOURCE = 12.0, 1.0
STEPS = 800


@dataclass(frozen=True)
class Step:
    """A load that a switch puts on a battery: its elements, the same for ngspice, and the closed form at `out`."""

    parts: tuple[tuple[str, str, tuple[str, str], dict[str, float]], ...]
    spice: tuple[str, ...]
    span: float
    form: Callable[[Series], Series]


def rc(t: Series) -> Series:
    return EMF * (1.0 - np.exp(-t / ((SOURCE + 999.0) * 1e-6)))


def rl(t: Series) -> Series:
    """Return the voltage over the 9 ohm in series with a coil of 40 ohm and 0.5 H."""
    whole = SOURCE + 9.0 + 40.0
    return EMF * 9.0 / whole * (1.0 - np.exp(-t * whole / 0.5))


def rlc(t: Series) -> Series:
    """Return the ringing voltage of 1 uF behind 20 mH and 31 ohm, source included."""
    decay, natural = 31.0 / (2.0 * 0.02), 1.0 / np.sqrt(0.02 * 1e-6)
    ringing = np.sqrt(natural**2 - decay**2)
    return EMF * (1.0 - np.exp(-decay * t) * (np.cos(ringing * t) + decay / ringing * np.sin(ringing * t)))


CAPACITOR = {"capacitance": 1e-6, "leakage": 1e12}
CIRCUITS = {
    "RC": Step(
        (("r", "resistor", ("a", "out"), {"resistance": 999.0}), ("c", "capacitor", ("out", "gnd"), CAPACITOR)),
        ("r1 a out 999", "c1 out 0 1u ic=0"),
        5e-3,
        rc,
    ),
    "RL": Step(
        (
            ("l", "coil", ("a", "out"), {"resistance": 40.0, "inductance": 0.5}),
            ("r", "resistor", ("out", "gnd"), {"resistance": 9.0}),
        ),
        ("l1 a m 0.5 ic=0", "r1 m out 40", "r2 out 0 9"),
        0.05,
        rl,
    ),
    "RLC": Step(
        (
            ("l", "coil", ("a", "out"), {"resistance": 30.0, "inductance": 0.02}),
            ("c", "capacitor", ("out", "gnd"), CAPACITOR),
        ),
        ("l1 a m 20m ic=0", "r1 m out 30", "c1 out 0 1u ic=0"),
        4e-3,
        rlc,
    ),
}


def by_product(step: Step, steps: int = STEPS) -> Series:
    """Return the voltage of `out` at steps + 1 even times."""
    placed = [
        Placed("battery", ELEMENTS["battery"], ("bat", "gnd")),
        Placed("switch", ELEMENTS["switch"], ("bat", "a")),
        *(Placed(name, ELEMENTS[kind], nodes) for name, kind, nodes, _ in step.parts),
    ]
    netlist = Netlist(placed, "gnd", 1e12)
    contacts = {"resistance": 1e-6, "open_resistance": float("inf")}
    rest = [PartState(_complete(kind, values)) for _, kind, _, values in step.parts]
    battery = PartState({"emf": EMF, "resistance": SOURCE})
    before = [battery, PartState(contacts, on=False), *rest]
    after = [battery, PartState(contacts, on=True), *rest]
    effort = solve_transient(netlist, before, after, 1, step.span / steps, steps)
    return effort[:, netlist.node["out"], 0]


def _complete(kind: str, values: dict[str, float]) -> dict[str, float]:
    defaults = {name: p.default for name, p in ELEMENTS[kind].parameters.items() if p.default is not None}
    return {**defaults, **values}


def by_ngspice(step: Step) -> Series:
    """Return the same by ngspice's transient analysis, ten times finer."""
    engine = ngspice()
    options = " ".join(f"{name}={value!r}" for name, value in ACCURACY.items())
    engine.load(["step", f".options {options}", f"v1 e 0 dc {EMF}", f"rs e a {SOURCE}", *step.spice, ".end"])
    dt = step.span / STEPS
    engine.transient(dt, step.span, dt / 10.0)
    return np.interp(np.linspace(0.0, step.span, STEPS + 1), engine.vector("time"), engine.vector("out"))


@pytest.mark.parametrize("name", CIRCUITS)
def test_a_step_follows_its_closed_form(name: str) -> None:
    step = CIRCUITS[name]
    truth = step.form(np.linspace(0.0, step.span, STEPS + 1))
    assert np.abs(by_product(step) - truth).max() < 1e-3 * EMF


@pytest.mark.parametrize("name", CIRCUITS)
def test_a_step_agrees_with_ngspice(name: str) -> None:
    step = CIRCUITS[name]
    assert np.abs(by_product(step) - by_ngspice(step)).max() < 1e-3 * EMF


@pytest.mark.parametrize("name", CIRCUITS)
def test_halving_the_step_quarters_the_error(name: str) -> None:
    step = CIRCUITS[name]

    def error(steps: int) -> float:
        return float(np.abs(by_product(step, steps) - step.form(np.linspace(0.0, step.span, steps + 1))).max())

    assert 3.5 < error(STEPS) / error(2 * STEPS) < 4.5
