"""What a drive did to the engine's heat, second by second: the input of the warm-up equations."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.errors import InputError

__all__ = ["STEP", "Drive"]

Array = NDArray[np.float64]

STEP = 1.0  # s between the rows of a drive
LEAST_ROWS = 60
COLDEST, HOTTEST = 220.0, 420.0  # K


@dataclass(frozen=True)
class Drive:
    """A drive on an even clock of one second.

    Attributes
    ----------
    coolant : (row,) float [K]
        What the coolant sensor said; NaN where the log has nothing.
    air : (row,) float [kg/s]
        Air that the engine took in.
    speed : (row,) float [rev/s]
        Of the crankshaft.
    pedal : (row,) float
        How far the pedal is down, 0 to 1; zeros where the log does not say.
    road : (row,) float [m/s]
        Speed of the vehicle.
    ambient : (row,) float [K]
    resumed : tuple of int
        Rows at which the log goes on after a gap: what happened in between is not known.
    notes : tuple of str
        What had to be supposed, as sentences.
    """

    coolant: Array
    air: Array
    speed: Array
    pedal: Array
    road: Array
    ambient: Array
    resumed: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        rows = self.coolant.size
        if rows < LEAST_ROWS:
            raise InputError(
                f"the drive is {rows * STEP:.0f} s long; a warm-up needs at least {LEAST_ROWS * STEP:.0f} s of coolant "
                "temperature"
            )
        for name in ("air", "speed", "pedal", "road", "ambient"):
            found = getattr(self, name)
            if found.shape != (rows,) or not np.isfinite(found).all():
                raise InputError(f"the drive's {name} must be {rows} finite values, one for each second")
        known = self.coolant[np.isfinite(self.coolant)]
        if known.size == 0 or known.min() < COLDEST or known.max() > HOTTEST:
            raise InputError("the drive's coolant temperatures must be in kelvin, from 220 K to 420 K")

    @property
    def duration(self) -> float:
        """Length [s]."""
        return self.coolant.size * STEP

    @property
    def hottest(self) -> float:
        """Highest coolant temperature reached [K]."""
        return float(np.nanmax(self.coolant))
