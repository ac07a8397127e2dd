"""The computed band of a sound vehicle beside the manual's limit, and what it means where they disagree."""

from __future__ import annotations

import numpy as np

from proveout.circuits.altitude import air_pressure, altitude_of
from proveout.circuits.schema import Limit
from proveout.diagnosis.advice_model import Band
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.likelihood import reading_variance
from proveout.diagnosis.model import Model
from proveout.instruments import Function, Reading, describe
from proveout.network.atmosphere import SEA_LEVEL

__all__ = ["explain_limit", "limit_band", "limit_note", "sound_band", "within"]

NOTABLE = 0.2  # share of the computed band outside the limit from which it is worth a sentence
HIGH = 150.0  # metres from which altitude is worth a sentence
COVERAGE = 1.96  # of a normal variable: 95 %


def sound_band(model: Model, measurement: str) -> Band:
    """Return the band in which 95 % of sound vehicles read, tolerances and the instrument's error included."""
    column, function = model.column[measurement], model.function(measurement)
    centre = float(model.predictions.mean[0, column])
    if model.meter.over_limit(function, centre):
        return Band(None, None, "OL")
    slopes = model.predictions.slopes[0, column]
    own = float(slopes @ slopes + model.predictions.rough[0, column])
    variance = own + reading_variance(model.meter, function, centre, 0.0)
    half = float(COVERAGE * np.sqrt(variance))
    # A meter whose leads were zeroed may show a little less than nothing: no lower end where zero is within the band.
    low = None if function.kind != "voltage" and 0.0 <= centre <= half else centre - half
    return Band(low, centre + half, _span(function, low, centre + half))


def limit_band(model: Model, measurement: str) -> Band | None:
    """Return what the manual calls good, or None where it says nothing."""
    limit, function = model.circuit.measurements[measurement].limit, model.function(measurement)
    if limit is None:
        return None
    if limit.open:
        return Band(None, None, "OL")
    return Band(limit.low, limit.high, _span(function, limit.low, limit.high))


def _span(function: Function, low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "any"
    if low is None:
        return f"{describe(function, float(high or 0.0))} or less"
    if high is None:
        return f"{describe(function, low)} or more"
    return f"{describe(function, low)} to {describe(function, high)}"


def within(band: Band, value: float | None, over_limit: bool) -> bool:
    """Tell whether a reading lies in a band; a band shown as OL holds only over-limit."""
    if band.shown == "OL" or over_limit:
        return band.shown == "OL" and over_limit
    if value is None:
        return False
    return (band.low is None or value >= band.low) and (band.high is None or value <= band.high)


def limit_note(model: Model, measurement: str) -> str:
    """Return a sentence where the manual's limit and the computed band do not agree, else an empty string."""
    limit, sound = limit_band(model, measurement), sound_band(model, measurement)
    if limit is None or limit.shown == sound.shown:
        return ""
    if limit.shown == "OL" or sound.shown == "OL":
        return f"The manual expects {limit.shown}; this circuit, when sound, is computed to read {sound.shown}."
    low, high = sound.low or 0.0, sound.high or 0.0
    air = _thin_air(model, measurement)
    short = max(
        (limit.low if limit.low is not None else low) - low, high - (limit.high if limit.high is not None else high)
    )
    if short > NOTABLE * (high - low):
        return f"A sound circuit may read {sound.shown}, partly outside the manual's {limit.shown}.{air}"
    return ""


def _thin_air(model: Model, measurement: str) -> str:
    """Return what altitude does to a vacuum, where the shop lies high enough for it to be seen."""
    altitude, air = altitude_of(model.circuit), air_pressure(model.circuit)
    if altitude is None or air is None or altitude < HIGH or model.function(measurement).kind != "vacuum":
        return ""
    share = air / SEA_LEVEL
    return (
        f" At {altitude:.0f} m the air has {100.0 * share:.0f} % of its pressure at sea level; a vacuum has less too."
    )


def explain_limit(model: Model, before: Belief, measurement: str, reading: Reading) -> str:
    """Explain a reading on which the manual's limit and the computed band disagree; empty where they agree."""
    limit, sound = limit_band(model, measurement), sound_band(model, measurement)
    if limit is None or not reading.taken:
        return ""
    passes, looks_sound = (within(band, reading.value, reading.over_limit) for band in (limit, sound))
    if passes == looks_sound:
        return ""
    source = _source(model.circuit.measurements[measurement].limit)
    if passes:
        leading = before.suspects()[0].title
        return (
            f"{reading.shown} is within the manual's limit ({limit.shown}{source}), but a sound circuit here reads "
            f"{sound.shown}: the limit is too wide to see this fault. Leading before it: {leading}."
        )
    return (
        f"{reading.shown} is outside the manual's limit ({limit.shown}{source}), yet a sound circuit here reads "
        f"{sound.shown}: the limit is meant for another circuit or another set-up. Check the sheet's values."
    )


def _source(limit: Limit | None) -> str:
    return f", {limit.source}" if limit is not None and limit.source else ""
