"""What the vehicle does and what is seen of it, computed from ngspice's voltages: signals and behaviours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from proveout.circuits.schema import Check
from reference.faulted import Situation
from reference.readings import phases
from reference.spice_netlist import SpiceNetlist, solve

__all__ = ["behaviour", "signal", "signals"]


def signals(situation: Situation) -> dict[str, bool]:
    """Return every signal of the circuit; the situation's own set-up and phase are ignored."""
    return {name: signal(situation, name) for name in situation.circuit.signals}


def signal(situation: Situation, name: str) -> bool:
    """Tell whether all checks of a signal hold in its set-up."""
    wanted = situation.circuit.signals[name]
    metered = {check.current: 0.0 for check in wanted.checks if check.current}
    steps = phases(replace(situation, setup=wanted.setup, phase=None))
    points = [(share, solve(SpiceNetlist(step, metered=metered))) for share, step in steps]
    shares = np.array([share for share, _ in points])
    return all(
        _holds(
            check,
            np.array(
                [p.current[check.current] if check.between is None else p.between(*check.between) for _, p in points]
            ),
            shares,
        )
        for check in wanted.checks
    )


def _holds(check: Check, values: np.ndarray, shares: np.ndarray) -> bool:
    found = {
        "mean": shares @ values,
        "low": values.min(),
        "high": values.max(),
        "swing": values.max() - values.min(),
    }[check.quantity]
    above = check.at_least is None or found >= check.at_least
    below = check.at_most is None or found <= check.at_most
    return bool(above and below)


def behaviour(situation: Situation, name: str, known: Mapping[str, bool] | None = None) -> str:
    """Return the outcome of a behaviour: the first whose signals all are as it says.

    Signals that are not in `known` are computed.
    """
    found = dict(known or {})
    for outcome, described in situation.circuit.behaviours[name].outcomes.items():
        for wanted in described.when:
            if wanted not in found:
                found[wanted] = signal(situation, wanted)
        if all(found[wanted] is state for wanted, state in described.when.items()):
            return outcome
    raise ValueError(f"behaviour '{name}': no outcome fits the signals {found}")
