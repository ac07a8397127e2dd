"""Few teeth a turn: rising and falling edges of the same teeth weighed together.

With three or four intervals a turn, ripple that repeats with the turn can look like a gap. Both edges of each tooth
sample it twice as densely: teeth of one width have equal times up wherever speed is equal, and only the time down tells
a gap. A folded turn of times up and down, one after the other, is explained as in `explanation`, with steps

    up: w, down: D_k - w        teeth of one width w on a wheel of steps D_k
    up: f D_k, down: (1-f) D_k  zero crossings of a coil, over the middle of teeth and then somewhere in the slot; or
                                first the slot and then the tooth, where its leads are the other way round
    up: w_k, down: 1 - w_k      even beginnings, two widths (or even ends: down is 1 - w_(k+1))

w being tried from narrow to wide, f from early to late in a gap and half in any other slot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.explanation import Explanation, marginal, prior, uneven_evidence
from proveout.captures.analysis.pattern.period import running_mean
from proveout.captures.analysis.pattern.template import Template
from proveout.captures.analysis.wheel import Wheel

__all__ = ["MOST_TEETH", "BothEdges", "explanations_of_both", "fold_both"]

Array = NDArray[np.float64]

MOST_TEETH = 16  # a turn for which both edges are weighed together
_WIDTHS = np.arange(0.08, 0.95, 0.07)  # of a tooth, share of the narrowest step
_LEAST_SCATTER = 0.012  # of a log interval, as for one kind of edge
_CODED = -4.0  # log prior of a width code, beside a bit for each tooth
_IN_GAP = (0.2, 0.35, 0.5, 0.65, 0.8)
_MOST_TURNS = 4
_LEAST_APART = 0.4  # log ratio of wide to narrow: ripple within a pitch makes less


@dataclass(frozen=True)
class BothEdges:
    """A folded turn of times up and down: mean logs, up of place 0, down after it, up of place 1, and their errors."""

    logs: Array
    error: Array


def fold_both(up: Array, down: Array, template: Template) -> BothEdges | None:
    """Return the folded turn of both edges, laid on the places of the rising ones; None where some place has none.

    Parameters
    ----------
    up, down : (edge,) float64
        Times of rising and falling edges [s].
    template : Template
        The folded turn of the rising edges.
    """
    place = template.path.place[: up.size]
    period = template.logs.size
    inside = np.searchsorted(down, up[: place.size])
    good = (np.diff(inside) == 1) & (place[:-1] >= 0) & ((place[1:] - place[:-1] - 1) % period == 0)
    begin, end = up[: place.size - 1][good], up[1 : place.size][good]
    middle, at = down[inside[:-1][good]], place[:-1][good]
    if at.size == 0 or np.min(np.bincount(at, minlength=period)) < 1:
        return None
    turn = running_mean(np.log(end - begin) - template.logs[at], period * max(1, -(-9 // period)))
    folded = [_means(np.log(part) - turn, at, period) for part in (middle - begin, end - middle)]
    logs = np.stack([folded[0][0], folded[1][0]], axis=1).ravel()
    return BothEdges(logs - np.mean(logs), np.stack([folded[0][1], folded[1][1]], axis=1).ravel())


def _means(values: Array, at: NDArray[np.int64], period: int) -> tuple[Array, Array]:
    counts = np.bincount(at, minlength=period)
    mean = np.bincount(at, weights=values, minlength=period) / counts
    left = values - mean[at]
    scatter = float(np.sqrt(np.sum(np.minimum(left**2, 0.25)) / max(left.size - period, 1)))
    return mean, max(scatter, _LEAST_SCATTER) / np.sqrt(counts)


def explanations_of_both(both: BothEdges, usual: Sequence[Wheel], coil: bool | None = None) -> list[Explanation]:
    """Return the patterns of that many teeth a turn with their evidence from both edges, best first.

    `coil` says whether the signal is that of a coil, which knows no widths, or of a switching sensor; None: either.
    """
    teeth = both.logs.size // 2
    width = float(np.sum(np.log(both.error))) + 0.5 * both.error.size * float(np.log(2 * np.pi))
    plain = _centred if coil else _toothed
    found = [Explanation("even", None, 0, 1, float(plain(both, np.ones(teeth), 1)[0]) + prior("even", None))]
    if teeth > 1:
        found.append(Explanation("uneven", None, 0, 1, uneven_evidence(both.logs, both.error)))
    for wheel in usual:
        if teeth % wheel.teeth == 0 and teeth // wheel.teeth <= _MOST_TURNS:
            found += _turned(both, wheel, coil)
    found += [] if coil else _coded(both)
    return sorted((replace(e, evidence=e.evidence + width) for e in found), key=lambda found: -found.evidence)


def _turned(both: BothEdges, wheel: Wheel, coil: bool | None) -> Iterator[Explanation]:
    turns = both.logs.size // 2 // wheel.teeth
    steps = np.tile(np.diff([*wheel.angles, 1.0]), turns)
    ways = _WAYS[coil]
    share = float(np.log(len(ways) * wheel.teeth))
    for on_falling, model in ways:
        evidence = model(both, steps, wheel.teeth)
        for first in range(wheel.teeth):
            value = float(evidence[first]) + prior("usual", wheel) - share
            yield Explanation("usual", wheel, first, turns, value, on_falling)


def _rotated(both: BothEdges, rotations: int) -> Array:
    return np.stack([np.roll(both.logs, -2 * first) for first in range(rotations)], axis=1)


def _averaged(both: BothEdges, splits: Sequence[Array], rotations: int) -> Array:
    """Return the log evidence of each rotation, averaged over ways to split the steps between up and down."""
    turned = _rotated(both, rotations)
    tried = [marginal(turned, split.ravel() / np.sum(split), both.error) for split in splits]
    return np.logaddexp.reduce(tried, axis=0) - np.log(len(splits))


def _toothed(both: BothEdges, steps: Array, rotations: int) -> Array:
    """Teeth of one width, none wider than the narrowest step."""
    widths = _WIDTHS * float(np.min(steps))
    return _averaged(both, [np.stack([np.full(steps.size, w), steps - w], axis=1) for w in widths], rotations)


def _centred(both: BothEdges, steps: Array, rotations: int) -> Array:
    """A coil that rises over the middle of teeth."""
    return _averaged(both, [np.stack([early, steps - early], axis=1) for early in _crossings(steps)], rotations)


def _slotted(both: BothEdges, steps: Array, rotations: int) -> Array:
    """A coil that falls over the middle of teeth: up is the slot after tooth k, down the tooth after that slot."""
    splits = [np.stack([steps - early, np.roll(early, -1)], axis=1) for early in _crossings(steps)]
    return _averaged(both, splits, rotations)


_WAYS = {
    True: ((False, _centred), (True, _slotted)),
    False: ((False, _toothed),),
    None: ((False, _toothed), (False, _centred), (True, _slotted)),
}


def _crossings(steps: Array) -> list[Array]:
    """Return where in each step a coil may cross zero between two teeth: in the middle, in a gap anywhere."""
    gap = steps > 1.2 * np.median(steps)
    return [np.where(gap, part, 0.5) * steps for part in (_IN_GAP if np.any(gap) else (0.5,))]


def _coded(both: BothEdges) -> Iterator[Explanation]:
    """Return the width codes that the times up propose, by even beginnings and by even ends."""
    up, down = np.exp(both.logs[::2]), np.exp(both.logs[1::2])
    for ends in (False, True):
        share = up / (up + (np.roll(down, 1) if ends else down))
        wide = share > (np.min(share) + np.max(share)) / 2
        if share.size < 2 or not np.any(wide):
            continue
        narrow_one, wide_one = float(np.mean(share[~wide])), float(np.mean(share[wide]))
        if np.log(wide_one / narrow_one) < _LEAST_APART:
            continue
        width = np.where(wide, wide_one, narrow_one)
        split = np.stack([width, 1 - (np.roll(width, -1) if ends else width)], axis=1)
        value = float(_averaged(both, [split], 1)[0]) + _CODED - wide.size * float(np.log(2))
        yield _code(width, value, ends)


def _code(width: Array, evidence: float, ends: bool) -> Explanation:
    period = next(n for n in range(1, width.size + 1) if width.size % n == 0 and np.all(width == np.roll(width, n)))
    first = max(range(period), key=lambda k: tuple(np.roll(width, -k)))
    widths = tuple(np.roll(width, -first)[:period].tolist())
    wheel = Wheel(f"{period} width-coded", tuple(k / period for k in range(period)), period, widths)
    return Explanation("coded", wheel, first, width.size // period, evidence, ends)
