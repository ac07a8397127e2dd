"""A variable-reluctance sensor simulated by ngspice: a coil in a changing flux, its inductance, its load.

The flux of a tooth passing at gap g is ``flux exp(-2 pi g / pitch) cos(teeth angle)``; ngspice differentiates it (a
capacitor of 1 F, whose current is the slope) and drives coil resistance, inductance, cable and input with it. The angle
comes as a piecewise-linear source, so any motion can be given.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference.shared_ngspice import ngspice

__all__ = ["Coil", "coil_signal"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Coil:
    """An invented sensor: flux [V s] per radian of tooth phase at no gap, gap and pitch [m], and what it works into."""

    flux: float = 2.0e-3
    gap: float = 1.0e-3
    pitch: float = 6.0e-3
    run_out: float = 0.0
    resistance: float = 1200.0
    inductance: float = 0.6
    series: float = 0.0
    load: float = 10e3
    capacitance: float = 1e-9
    teeth: int = 60


def coil_signal(coil: Coil, times: Array, angles: Array, samples: Array) -> Array:
    """Return the voltage at the input [V] at the sample times; `angles` [turns] at `times` [s] is the motion."""
    step = float(np.min(np.diff(samples)))
    points = " ".join(f"{t:.9g} {a:.12g}" for t, a in zip(times, angles, strict=True))
    gap = f"({coil.gap!r} - {coil.run_out!r} * cos(6.283185307179586 * v(angle)))"
    flux = f"{coil.flux!r} * exp(-6.283185307179586 * {gap} / {coil.pitch!r})"
    netlist = [
        "coil in a changing flux",
        f"Vangle angle 0 PWL({points})",
        "Rangle angle 0 1k",
        f"Bflux flux 0 V = {flux} * cos(6.283185307179586 * {coil.teeth} * v(angle))",
        # ngspice gives the slope of the flux as the current of one farad.
        "Vslope flux slope 0",
        "Cslope slope 0 1",
        "Bemf emf 0 V = i(Vslope)",
        f"Rcoil emf inside {coil.resistance!r}",
        f"Lcoil inside out {coil.inductance!r}",
        f"Rseries out input {max(coil.series, 1e-3)!r}",
        f"Rload input 0 {coil.load!r}",
        f"Cload input 0 {coil.capacitance!r}",
        ".options reltol=1e-5 method=gear",
        ".end",
    ]
    simulator = ngspice()
    simulator.load(netlist)
    try:
        simulator.transient(step, float(samples[-1]), step, from_initial=False)
        return np.interp(samples, simulator.vector("time"), simulator.vector("input"))
    finally:
        simulator.unload()
