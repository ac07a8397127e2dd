"""What connecting an instrument does to a circuit, by Thevenin's theorem: arrays in, arrays out.

All arguments broadcast together. A circuit between two probe places is its open-circuit voltage [V] behind its source
resistance [ohm]; the instrument is a resistance, or a test voltage behind a resistance.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "autorange",
    "burdened_current",
    "divider",
    "loaded_voltage",
    "parallel",
    "resistance_from_voltage",
    "shown_resistance",
]


def divider(voltage: ArrayLike, upper: ArrayLike, lower: ArrayLike) -> NDArray[np.float64]:
    """Voltage across `lower` of two resistances in series across `voltage`: V lower / (upper + lower) [V]."""
    below = np.asarray(lower, dtype=float)
    output: NDArray[np.float64] = np.asarray(voltage, dtype=float) * below / (np.asarray(upper, dtype=float) + below)
    return output


def parallel(first: ArrayLike, second: ArrayLike) -> NDArray[np.float64]:
    """Two positive resistances side by side: 1 / (1 / first + 1 / second) [ohm]; either may be infinite, not zero."""
    total: NDArray[np.float64] = 1.0 / (1.0 / np.asarray(first, dtype=float) + 1.0 / np.asarray(second, dtype=float))
    return total


def loaded_voltage(
    open_voltage: ArrayLike, source_resistance: ArrayLike, input_resistance: ArrayLike
) -> NDArray[np.float64]:
    """Voltage that a voltmeter of finite input resistance shows: V / (1 + R_source / R_input) [V].

    A source resistance of infinity (an open wire) gives 0; an input resistance of infinity gives the open voltage.
    """
    ratio = np.asarray(source_resistance, dtype=float) / np.asarray(input_resistance, dtype=float)
    shown: NDArray[np.float64] = np.asarray(open_voltage, dtype=float) / (1.0 + ratio)
    return shown


def burdened_current(open_voltage: ArrayLike, source_resistance: ArrayLike, burden: ArrayLike) -> NDArray[np.float64]:
    """Current that an ammeter in series shows: V / (R_source + R_burden) [A]."""
    current: NDArray[np.float64] = np.asarray(open_voltage, dtype=float) / (
        np.asarray(source_resistance, dtype=float) + np.asarray(burden, dtype=float)
    )
    return current


def resistance_from_voltage(
    voltage: ArrayLike, test_voltage: ArrayLike, test_resistance: ArrayLike
) -> NDArray[np.float64]:
    """Resistance that an ohmmeter computes from the voltage at its own terminals.

    R = R_test V / (E - V), the divider of the test voltage E behind R_test.

    Parameters
    ----------
    voltage : (...) float [V]
        At the meter's terminals, with the meter connected.
    test_voltage, test_resistance : (...) float [V], [ohm]
        The meter's open-circuit voltage and the resistance behind it.

    Returns
    -------
    (...) float [ohm]
        Infinity where the terminals carry the test voltage or more; negative where a foreign source reverses them.
    """
    across = np.asarray(voltage, dtype=float)
    dropped = np.asarray(test_voltage, dtype=float) - across
    measurable = dropped > 0.0
    ratio = across / np.where(measurable, dropped, 1.0)
    return np.where(measurable, np.asarray(test_resistance, dtype=float) * ratio, np.inf)


def shown_resistance(
    source_resistance: ArrayLike,
    test_voltage: ArrayLike,
    test_resistance: ArrayLike,
    *,
    open_voltage: ArrayLike = 0.0,
    lead_resistance: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Resistance that an ohmmeter shows of a linear two-terminal circuit.

    Parameters
    ----------
    source_resistance : (...) float [ohm]
        Finite. For a dead circuit this, plus the leads, is what is shown.
    test_voltage, test_resistance : (...) float [V], [ohm]
        The meter's open-circuit voltage and the resistance behind it.
    open_voltage : (...) float [V]
        What is left on the circuit; positive where it aids the reading upwards.
    lead_resistance : (...) float [ohm]
        Both leads together, 0 when zeroed.

    Returns
    -------
    (...) float [ohm]
    """
    outside = np.asarray(source_resistance, dtype=float) + np.asarray(lead_resistance, dtype=float)
    inside = np.asarray(test_resistance, dtype=float)
    foreign = np.asarray(open_voltage, dtype=float)
    across = (np.asarray(test_voltage, dtype=float) * outside + foreign * inside) / (outside + inside)
    return resistance_from_voltage(across, test_voltage, test_resistance)


def autorange(
    value_by_range: ArrayLike, full_scale: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.intp], NDArray[np.bool_]]:
    """Settle on the lowest range that holds what that range itself would show.

    An ohmmeter's test current depends on its range, and a circuit with junctions has another resistance at another
    current, so each range's value comes from its own solution.

    Parameters
    ----------
    value_by_range : (..., range) float
        What each range would show.
    full_scale : (range,) float
        Ascending.

    Returns
    -------
    value : (...) float
        The shown value; where over limit, that of the highest range.
    index : (...) int
        The range settled on.
    over_limit : (...) bool
        Where no range holds its value.
    """
    values = np.asarray(value_by_range, dtype=float)
    fits = np.abs(values) <= np.asarray(full_scale, dtype=float)
    over = ~fits.any(axis=-1)
    index = np.where(over, values.shape[-1] - 1, fits.argmax(axis=-1))
    value = np.take_along_axis(values, index[..., np.newaxis], axis=-1)[..., 0]
    return value, index, over
