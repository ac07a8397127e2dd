"""Wheels as they are cut: where each tooth begins and ends within a turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "CutWheel",
    "added_tooth",
    "even_teeth",
    "lobes",
    "missing_teeth",
    "run_lengths",
    "width_coded",
    "with_tooth_errors",
]


@dataclass(frozen=True)
class CutWheel:
    """Angles within one turn at which each tooth begins (`rise`) and ends (`fall`) [turns].

    Tooth 0 is the first one after the gap. `fall` may pass 1 where the last tooth reaches over the end of the turn.
    `pitch` is the spacing that errors and sample counts are told in [turns].
    """

    name: str
    rise: tuple[float, ...]
    fall: tuple[float, ...]
    pitch: float

    @property
    def teeth(self) -> int:
        return len(self.rise)

    @property
    def centre(self) -> NDArray[np.float64]:
        return (np.asarray(self.rise) + np.asarray(self.fall)) / 2

    def shifted(self, turns: float) -> CutWheel:
        """Return the wheel as a second sensor sees it that sits `turns` further on (small: tooth 0 stays tooth 0)."""
        return replace(
            self, rise=tuple(angle + turns for angle in self.rise), fall=tuple(angle + turns for angle in self.fall)
        )


def even_teeth(count: int, duty: float = 0.5) -> CutWheel:
    """Return a plain wheel: nothing marks its turn."""
    return run_lengths(str(count), count, [(count, 0)], duty)


def missing_teeth(slots: int, missing: int = 1, duty: float = 0.5) -> CutWheel:
    """Return a wheel with one gap, such as 60-2 or 36-1."""
    return run_lengths(f"{slots}-{missing}", slots, [(slots - missing, missing)], duty)


def run_lengths(name: str, slots: int, runs: Sequence[tuple[int, int]], duty: float = 0.5) -> CutWheel:
    """Return a wheel of runs of teeth, each followed by so many missing ones, on `slots` even places."""
    if sum(teeth + gap for teeth, gap in runs) != slots:
        raise ValueError(f"runs {runs} do not fill {slots} places")
    places: list[int] = []
    place = 0
    for teeth, gap in runs:
        places += range(place, place + teeth)
        place += teeth + gap
    starts = tuple(place / slots for place in places)
    return CutWheel(name, starts, tuple(start + duty / slots for start in starts), 1 / slots)


def added_tooth(count: int, at: float = 0.5, duty: float = 0.4) -> CutWheel:
    """Return a wheel of even teeth and one more, `at` of a pitch past the last of them (12+1)."""
    width = duty * min(at, 1 - at) / count
    starts = [place / count for place in range(count)] + [(count - 1 + at) / count]
    return CutWheel(f"{count}+1", tuple(starts), tuple(start + width for start in starts), 1 / count)


def width_coded(code: Sequence[int], narrow: float = 0.25, wide: float = 0.75) -> CutWheel:
    """Return a wheel whose teeth all end on even places; a wide one stands for a 1 of the code."""
    slots = len(code)
    ends = [(place + wide) / slots for place in range(slots)]
    widths = [(wide if bit else narrow) / slots for bit in code]
    starts = tuple(end - width for end, width in zip(ends, widths, strict=True))
    return CutWheel(f"{slots} width-coded", starts, tuple(ends), 1 / slots)


def lobes(name: str, edges: Sequence[tuple[float, float]]) -> CutWheel:
    """Return a wheel of few lobes, each from one angle to another [degrees]."""
    starts = tuple(first / 360 for first, _ in edges)
    ends = tuple(last / 360 for _, last in edges)
    return CutWheel(name, starts, ends, float(min(np.diff([*starts, starts[0] + 1]))))


def with_tooth_errors(wheel: CutWheel, error: float, rng: np.random.Generator) -> CutWheel:
    """Return the wheel with each tooth moved by a normal error of standard deviation `error` pitches."""
    moves = rng.normal(0.0, error * wheel.pitch, wheel.teeth)
    return replace(
        wheel,
        rise=tuple(float(a + m) for a, m in zip(wheel.rise, moves, strict=True)),
        fall=tuple(float(a + m) for a, m in zip(wheel.fall, moves, strict=True)),
    )
