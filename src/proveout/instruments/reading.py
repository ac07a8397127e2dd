"""One reading as it was taken: a value, an over-limit display, or nothing that could be read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from proveout.errors import InputError

from .display import NOT_READ, OVER_LIMIT

__all__ = ["Reading"]


@dataclass(frozen=True)
class Reading:
    """What an instrument showed.

    Attributes
    ----------
    value : float or None
        In the SI unit; None when the display was over limit or could not be read.
    over_limit : bool
        Whether the display said OL.
    shown : str
        As written in a record: `4.98 V`, `OL`, `-`.
    unit : str
        Symbol of the SI unit of `value`.
    resolution : float
        What the last noted digit is worth, in the SI unit; 0 without a value.
    uncertainty : float or None
        Standard uncertainty of a value that was not read off a display, such as a level of a recorded signal; it
        stands in place of the meter's accuracy. None for an ordinary reading.
    """

    value: float | None
    over_limit: bool
    shown: str
    unit: str
    resolution: float = 0.0
    uncertainty: float | None = None

    def __post_init__(self) -> None:
        if self.value is not None and (self.over_limit or not math.isfinite(self.value)):
            raise InputError(
                f"a reading has value {self.value} and over_limit {self.over_limit}: a value must be finite and stands "
                "without over_limit; give one of the two"
            )

    @classmethod
    def over(cls, unit: str) -> Reading:
        """Return an over-limit display, OL."""
        return cls(value=None, over_limit=True, shown=OVER_LIMIT, unit=unit)

    @classmethod
    def unread(cls, unit: str) -> Reading:
        """Return a reading that was tried and could not be read."""
        return cls(value=None, over_limit=False, shown=NOT_READ, unit=unit)

    @property
    def taken(self) -> bool:
        """Whether the instrument showed anything: a value or OL."""
        return self.value is not None or self.over_limit
