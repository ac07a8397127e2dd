"""A meter or scope as data: what each function can show, how well, and what it does to the circuit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proveout.errors import InputError

from . import accuracy, broad
from .display import NOT_READ, OVER_LIMIT, fixed
from .functions import Function
from .reading import Reading

__all__ = ["Broad", "Capability", "Meter", "Range"]


@dataclass(frozen=True)
class Range:
    """One range of one function.

    Attributes
    ----------
    full_scale, resolution : float
        Highest value and the value of one count, in the function's SI unit.
    fraction, counts : float
        Accuracy limits +-(fraction of reading + counts).
    series_resistance : float [ohm]
        Amps: the shunt (burden). Ohms, continuity, diode: the resistance behind the test voltage. Volts: 0.
    """

    full_scale: float
    resolution: float
    fraction: float
    counts: float
    series_resistance: float = 0.0


@dataclass(frozen=True)
class Broad:
    """Parameters of the broad density of a function; the formulas stand in `proveout.instruments.broad`."""

    shape: Literal["mixture", "log"]
    over_limit_mass: float
    low: float = 0.0
    high: float = 0.0
    weight: float = 0.0


@dataclass(frozen=True)
class Capability:
    """All that one function of a meter can do.

    Attributes
    ----------
    ranges : tuple of Range
        Ascending.
    least : float
        Lowest value that can be shown, in the SI unit.
    broad : Broad
    input_resistance : float [ohm]
        Volts and scope: what loads the circuit; infinite where the function does not load it that way.
    open_circuit_volts : float [V]
        Ohms, continuity, diode: the test voltage without load.
    """

    function: Function
    ranges: tuple[Range, ...]
    least: float
    broad: Broad
    input_resistance: float = float("inf")
    open_circuit_volts: float = 0.0

    @property
    def most(self) -> float:
        """Highest value that can be shown, in the SI unit."""
        return self.ranges[-1].full_scale

    @cached_property
    def full_scale(self) -> NDArray[np.float64]:
        """Full scale of each range, (range,)."""
        return np.array([r.full_scale for r in self.ranges])

    @cached_property
    def table(self) -> NDArray[np.float64]:
        """Resolution, fraction, counts and series resistance of each range, (4, range)."""
        return np.array([[r.resolution, r.fraction, r.counts, r.series_resistance] for r in self.ranges]).T

    def select(self, value: ArrayLike) -> NDArray[np.float64]:
        """Return the columns of `table` for each value's range, (4, ...)."""
        return self.table[:, accuracy.range_index(value, self.full_scale)]

    def log_density(self, value: ArrayLike, over_limit: ArrayLike) -> NDArray[np.float64]:
        """Return the broad log density; see `Meter.broad_log_densities`."""
        shape = self.broad
        if shape.shape == "log":
            density = broad.log_log_density(value, least=self.least, most=self.most, knee=self.ranges[0].resolution)
        else:
            density = broad.mixture_log_density(
                value, least=self.least, most=self.most, low=shape.low, high=shape.high, weight=shape.weight
            )
        return broad.with_over_limit(density, over_limit, shape.over_limit_mass)


@dataclass(frozen=True)
class Meter:
    """A digital multimeter and a two-channel scope, described by their functions.

    Attributes
    ----------
    name : str
    capabilities : tuple of Capability
        One for each function that the instrument has.
    lead_resistance : float [ohm]
        Both leads together.
    lead_uncertainty : float [ohm]
        Standard uncertainty of what the leads and the probe tips add, zeroed or not.
    leads_zeroed : bool
        Whether ohms are shown without the leads.
    continuity_threshold : float [ohm]
        Below it the meter sounds.
    """

    name: str
    capabilities: tuple[Capability, ...]
    lead_resistance: float
    lead_uncertainty: float
    leads_zeroed: bool
    continuity_threshold: float

    def has(self, function: Function) -> bool:
        """Tell whether the instrument has the function."""
        return function in self._by_function

    def capability(self, function: Function) -> Capability:
        """Return all about one function; InputError when the instrument does not have it."""
        found = self._by_function.get(function)
        if found is None:
            has = ", ".join(self._by_function)
            raise InputError(
                f"'{self.name}' has no function '{function}'; it has {has}. Choose another test, or describe the "
                "function in the meter's file"
            )
        return found

    @cached_property
    def _by_function(self) -> dict[Function, Capability]:
        return {c.function: c for c in self.capabilities}

    @property
    def lead_offset(self) -> float:
        """What the leads add to a shown resistance [ohm]: 0 when they are zeroed."""
        return 0.0 if self.leads_zeroed else self.lead_resistance

    def span(self, function: Function) -> tuple[float, float]:
        """Least and most that the function can show, in its SI unit."""
        capability = self.capability(function)
        return capability.least, capability.most

    def input_resistance(self, function: Function) -> float:
        """Resistance with which the function loads the circuit [ohm]."""
        return self.capability(function).input_resistance

    def open_circuit_volts(self, function: Function) -> float:
        """Test voltage of ohms, continuity and diode without load [V]."""
        return self.capability(function).open_circuit_volts

    def series_resistance(self, function: Function, value: ArrayLike) -> NDArray[np.float64]:
        """Shunt of amps, or resistance behind the test voltage of ohms, in each value's range, (...) [ohm]."""
        resistance: NDArray[np.float64] = self.capability(function).select(value)[3]
        return resistance

    def resolution(self, function: Function, value: ArrayLike) -> NDArray[np.float64]:
        """One count in each value's range, (...) in the SI unit."""
        step: NDArray[np.float64] = self.capability(function).select(value)[0]
        return step

    def over_limit(self, function: Function, value: ArrayLike) -> NDArray[np.bool_]:
        """Tell where the display says OL: beyond the top of the highest range, (...) bool."""
        size = np.abs(np.asarray(value, dtype=float))
        over: NDArray[np.bool_] = size > self.capability(function).most * (1.0 + 1e-9)
        return over

    def standard_error(
        self, function: Function, value: ArrayLike, noted_resolution: ArrayLike = 0.0
    ) -> NDArray[np.float64]:
        """Return the standard uncertainty of a shown value.

        Accuracy limits as a rectangular distribution (JCGM 100:2008, 4.3.7) and the step of the display
        (F.2.2.1) in quadrature; the range is the one that auto-ranging chooses.

        Parameters
        ----------
        function : Function
        value : (...) float
            As shown, in the SI unit.
        noted_resolution : (...) float
            What the last noted digit is worth, when fewer digits were noted than shown (`Reading.resolution`).

        Returns
        -------
        (...) float
            In the SI unit; the leads of an ohms test are not in it (`lead_uncertainty`), for they are shared by all
            readings.
        """
        resolution, fraction, counts, _ = self.capability(function).select(value)
        step = np.maximum(resolution, noted_resolution)
        return accuracy.standard_error(value, fraction, counts, resolution, step)

    def quantise(self, function: Function, value: ArrayLike) -> NDArray[np.float64]:
        """Round each value to the step of its range, (...) in the SI unit; over-limit values are not marked."""
        step = self.resolution(function, value)
        rounded: NDArray[np.float64] = np.round(np.asarray(value, dtype=float) / step) * step
        return rounded

    def show(self, function: Function, value: float) -> str:
        """Return the text on the display: `4.980 V`, `12.34 kΩ`, `OL`; `-` for NaN."""
        if np.isnan(value):
            return NOT_READ
        if self.over_limit(function, value):
            return OVER_LIMIT
        capability = self.capability(function)
        chosen = capability.ranges[int(accuracy.range_index(value, capability.full_scale))]
        shown = fixed(value, chosen.resolution, chosen.full_scale, function.unit)
        return f"{shown} vacuum" if function.kind == "vacuum" else shown

    def read(self, function: Function, value: float) -> Reading:
        """Return the reading that this value gives: rounded to the display, or over limit; NaN is not read."""
        if np.isnan(value):
            return Reading.unread(function.unit)
        if self.over_limit(function, value):
            return Reading.over(function.unit)
        return Reading(
            # Twelve figures drop the noise of the multiplication, so that records read 4.98 and not 4.980000000000001.
            value=float(f"{self.quantise(function, value):.12g}"),
            over_limit=False,
            shown=self.show(function, value),
            unit=function.unit,
            resolution=float(self.resolution(function, value)),
        )

    def sounds(self, resistance: ArrayLike) -> NDArray[np.bool_]:
        """Tell where the continuity test sounds, (...) bool for resistances in ohm."""
        return np.asarray(resistance, dtype=float) < self.continuity_threshold

    def broad_log_densities(
        self, function: Function, value: ArrayLike, over_limit: ArrayLike = False
    ) -> NDArray[np.float64]:
        """Return the log of a normalised broad density over all that the function can show.

        Parameters
        ----------
        function : Function
        value : (...) float
            In the SI unit; ignored where over limit.
        over_limit : (...) bool

        Returns
        -------
        (...) float
            Log density per SI unit; where over limit, the log probability of OL; minus infinity outside the span.
            The density integrates to one minus the probability of OL. Formulas: `proveout.instruments.broad`.
        """
        return self.capability(function).log_density(value, over_limit)

    def broad_log_density(self, function: Function, reading: Reading) -> float:
        """Return `broad_log_densities` of one reading; 0 for one that was not read, since it says nothing."""
        if not reading.taken:
            return 0.0
        value = np.nan if reading.value is None else reading.value
        return float(self.broad_log_densities(function, value, reading.over_limit))
