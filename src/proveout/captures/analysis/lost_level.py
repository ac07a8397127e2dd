"""The level at which a switching signal stands while it is lost: it tells an open wire from a dead supply."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.captures.capture import Clock, Samples

__all__ = ["level_while_lost"]

INNER = 0.25
"""Share of each stretch left out at either end, where the last and the next tooth still pass."""
LEAST, MOST = 3, 100_000
ALIKE = 0.9
"""Share of the samples that must stand near their median for it to be a level."""
NEAR = 0.05
"""How near that is, a share of the swing."""


def level_while_lost(
    samples: Samples, clock: Clock, spans: Sequence[tuple[float, float]], swing: float, noise: float
) -> float | None:
    """Return the level in the longest stretch, or None where the signal does not stand still there.

    The longest counts alone: in a short one, a tooth of the neighbourhood may be taken for the lost one.

    Parameters
    ----------
    samples : (sample,) float
    clock : Clock
    spans : sequence of (float, float)
        From when to when the signal is lost [s].
    swing, noise : float
        Of the signal, in its unit.
    """
    if not spans:
        return None
    start, end = max(spans, key=lambda span: span[1] - span[0])
    room = INNER * (end - start)
    first, last = _index(clock, start + room, samples.size), _index(clock, end - room, samples.size)
    values = np.asarray(samples[first : min(last, first + MOST)], dtype=float)
    values = values[np.isfinite(values)]
    if values.size < LEAST:
        return None
    level = float(np.median(values))
    near = np.abs(values - level) <= max(NEAR * swing, 4.0 * noise)
    return level if float(near.mean()) >= ALIKE else None


def _index(clock: Clock, time: float, size: int) -> int:
    if clock.rate is not None:
        return int(np.clip(np.ceil((time - clock.start) * clock.rate), 0, size))
    return int(np.searchsorted(np.asarray(clock.times), time))
