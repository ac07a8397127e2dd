"""What a fitted warm-up trace says, in sentences, and what it is worth as evidence in a case."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import ndtr

from proveout.diagnosis.warmup.fit import WarmUpFit
from proveout.diagnosis.warmup.healthy import RATING, HealthyTrace, healthy_trace
from proveout.instruments import Reading

__all__ = ["WarmUpFinding", "finding_of"]

ZERO_CELSIUS = 273.15
SURE = 0.97
EARLY = 8.0  # K below its rating from which a thermostat opens too early: common practice, a band of some degrees
LEAKS = 0.04  # share of the full flow from which a shut valve leaks: from memory, a vent pin lets 1 % past
REACHED, NOT_REACHED = 0.95, 0.03


@dataclass(frozen=True)
class WarmUpFinding:
    """What may be said of a thermostat from one trace.

    Attributes
    ----------
    verdict : str
        `opens early`, `leaks`, `sound`, or `cannot tell`.
    early, leaking : float
        Probability that it opens more than 8 K below its rating; that it leaks more than 4 % when shut.
    sentences : tuple of str
    opening, leakage : Reading or None
        The fit as readings, with its uncertainty as their resolution; None where the trace has none.
    least_opening : float or None [°C]
        Where the valve did not open within the trace: it opens above this.
    healthy : HealthyTrace
    """

    verdict: Literal["opens early", "leaks", "sound", "cannot tell"]
    early: float
    leaking: float
    sentences: tuple[str, ...]
    opening: Reading | None
    leakage: Reading
    least_opening: float | None
    healthy: HealthyTrace


def finding_of(fit: WarmUpFit, rating: float = RATING) -> WarmUpFinding:
    """Return what a fitted trace says; `rating` [K] is where the thermostat should start to open."""
    healthy = healthy_trace(fit, rating)
    early = float(np.interp(rating - EARLY, fit.opening_levels, np.linspace(0.0, 1.0, fit.opening_levels.size)))
    leaking = _leaking(fit)
    opened = fit.reached >= REACHED
    verdict = _verdict(early, leaking, opened)
    return WarmUpFinding(
        verdict=verdict,
        early=early,
        leaking=leaking,
        sentences=(_opening_text(fit), _leakage_text(fit), _healthy_text(fit, healthy, rating), _verdict_text(verdict)),
        opening=_reading(fit.opening[1] - ZERO_CELSIUS, fit.opening_error, "°C", 1) if opened else None,
        leakage=_reading(fit.leakage, fit.leakage_error, "1", 3),
        least_opening=fit.drive.hottest - ZERO_CELSIUS if fit.reached <= NOT_REACHED else None,
        healthy=healthy,
    )


def _leaking(fit: WarmUpFit) -> float:
    """Return P(leakage above `LEAKS`), leakage being at least nothing."""
    error = max(fit.leakage_error, 1e-9)
    at_all = float(ndtr(fit.leakage / error))
    return float(ndtr((fit.leakage - LEAKS) / error)) / max(at_all, 1e-9)


def _verdict(early: float, leaking: float, opened: bool) -> Literal["opens early", "leaks", "sound", "cannot tell"]:
    if early >= SURE:
        return "opens early"
    if leaking >= SURE:
        return "leaks"
    if opened and early <= 1.0 - SURE and leaking <= 1.0 - SURE:
        return "sound"
    return "cannot tell"


def _opening_text(fit: WarmUpFit) -> str:
    low, middle, high = fit.opening - ZERO_CELSIUS
    hottest = fit.drive.hottest - ZERO_CELSIUS
    if fit.reached >= REACHED:
        return f"The thermostat starts to open at {middle:.0f} °C (95 %: {low:.0f} to {high:.0f} °C)."
    if fit.reached <= NOT_REACHED:
        return (
            f"The trace ends before the thermostat opens, at most {hottest:.0f} °C: where it opens it cannot tell, "
            f"only that it is above {low:.0f} °C (97.5 %)."
        )
    return (
        f"Whether the thermostat opened within the trace is open ({100 * fit.reached:.0f} %): it starts to open "
        f"somewhere between {low:.0f} and {high:.0f} °C (95 %)."
    )


def _leakage_text(fit: WarmUpFit) -> str:
    low, middle, high = 100.0 * fit.leakage_span
    return (
        f"Shut, it lets {middle:.1f} % of the full flow through the radiator (95 %: {low:.1f} to {high:.1f} %); a "
        f"sound one up to 1 %."
    )


def _healthy_text(fit: WarmUpFit, healthy: HealthyTrace, rating: float) -> str:
    low, middle, high = healthy.coolant[:, -1] - ZERO_CELSIUS
    ended = fit.drive.coolant[np.isfinite(fit.drive.coolant)][-1] - ZERO_CELSIUS
    return (
        f"With a sound thermostat of {rating - ZERO_CELSIUS:.0f} °C the same drive in the same weather would have "
        f"ended at {middle:.0f} °C ({low:.0f} to {high:.0f} °C); this one ended at {ended:.0f} °C."
    )


def _verdict_text(verdict: str) -> str:
    return {
        "opens early": "It opens too early.",
        "leaks": "It does not shut: it leaks.",
        "sound": "Nothing in this trace is against the thermostat.",
        "cannot tell": "This trace condemns nothing and clears nothing: a longer drive, or a warmer one, tells more.",
    }[verdict]


def _reading(value: float, error: float, unit: str, digits: int) -> Reading:
    """Return a fitted value as a reading whose rounding (a step over root 12) is the fit's uncertainty."""
    shown = f"{value:.{digits}f}{'' if unit == '1' else ' ' + unit} (± {error:.{digits}f})"
    return Reading(float(value), False, shown, unit, float(error * np.sqrt(12.0)))
