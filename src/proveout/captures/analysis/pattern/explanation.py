"""What wheel explains a folded turn: evidence of each pattern at each rotation, against speed that repeats with it.

A place's mean log interval is the log of its angle plus what speed does there every turn. Under a pattern with steps D,

    logs = log D + c + r + e,    r_i ~ sum over orders h of a_h cos(h x_i + phase),    e ~ N(0, tooth^2 + error_i^2)

with compression ripple r as a Gaussian process over the turn (few orders, of unknown size) and tooth errors e. Ripple
counts once, not once a turn: it is the same each turn, and more turns do not make it less like a wheel.
The rival of all patterns is a wheel of any uneven steps (`uneven`) and one without marks (`even`).

Source: marginal likelihood of a Gaussian process, Rasmussen and Williams 2006, equation 2.30, from memory; the sizes of
ripple and tooth errors are common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.describe import uneven_wheel
from proveout.captures.analysis.pattern.template import Template
from proveout.captures.analysis.wheel import Wheel

__all__ = ["Explanation", "Kind", "explanations", "marginal", "prior", "uneven_evidence"]

Array = NDArray[np.float64]
Kind = Literal["even", "usual", "grid", "uneven", "coded"]

_TOOTH = (0.015, 0.07)  # tooth-spacing error, share of an interval
_RIPPLE = (0.02, 0.15, 0.45)  # swing of log speed that repeats with the turn
_ORDERS = 24
_FIRST_ORDERS = (1, 2, 3, 4, 6, 8, 12)  # compressions in a folded turn, which may be several of the wheel
_HARMONIC = 0.4  # amplitude of each further multiple, share of the one before
_REST = 0.005  # power of all other orders, share of the first
_MOST_TURNS = 4  # of a wheel in one folded turn: ripple may repeat only after so many
_COARSE = 48  # edges a turn up to which ripple can look like a gap, and its order matters
_UNEVEN = 0.8  # scatter of the log steps of a wheel of any kind
_PRIOR: dict[Kind, float] = {"even": 0.0, "usual": 0.0, "grid": -3.0, "uneven": -4.0, "coded": 0.0}
_ODD_STEP = 4.0  # price of each step of a grid of our own that is not the commonest [nat]
_MISSING = 0.7  # and of each missing tooth
_LOG_TWO_PI = float(np.log(2 * np.pi))


@dataclass(frozen=True)
class Explanation:
    """A pattern for a folded turn.

    `first` is the place of the template on which the wheel's place 0 stands, `turns` the turns of the wheel in one
    template, `evidence` the log of prior and marginal likelihood. `wheel` is None for even teeth. `on_falling` tells,
    where both edges were weighed together on the places of the rising ones, that the falling ones carry the angles.
    """

    kind: Kind
    wheel: Wheel | None
    first: int
    turns: int
    evidence: float
    on_falling: bool = False

    @property
    def teeth(self) -> int:
        """Edges of one kind in a turn, as far as that is known."""
        return self.wheel.teeth if self.wheel else 1


def explanations(template: Template, usual: Sequence[Wheel], own: Sequence[Wheel]) -> list[Explanation]:
    """Return all patterns that give that many edges in one, two or three turns, with their evidence, best first.

    Parameters
    ----------
    template : Template
        The folded turn.
    usual : sequence of Wheel
        Wheels of the list.
    own : sequence of Wheel
        Wheels on an even grid that the data proposed.
    """
    found = list(_all(template, usual, own))
    width = float(np.sum(np.log(template.error))) + 0.5 * template.error.size * _LOG_TWO_PI
    known = [replace(e, evidence=e.evidence + width) for e in found]
    return sorted(known, key=lambda explanation: -explanation.evidence)


def _all(template: Template, usual: Sequence[Wheel], own: Sequence[Wheel]) -> Iterator[Explanation]:
    period = template.logs.size
    error = template.error
    even = np.full(period, 1 / period)
    yield Explanation("even", None, 0, 1, float(marginal(template.logs[:, None], even, error)[0]) + _PRIOR["even"])
    if period < 2:
        return
    uneven = uneven_wheel(template.logs)
    yield Explanation("uneven", uneven[0], uneven[1], 1, uneven_evidence(template.logs, error))
    kinds: tuple[tuple[Kind, Sequence[Wheel]], ...] = (("usual", usual), ("grid", own))
    for kind, wheels in kinds:
        for wheel in wheels:
            if period % wheel.teeth == 0 and period // wheel.teeth <= _MOST_TURNS:
                yield from _rotations(template, wheel, kind)


def _rotations(template: Template, wheel: Wheel, kind: Kind) -> Iterator[Explanation]:
    turns = template.logs.size // wheel.teeth
    steps = np.tile(np.diff([*wheel.angles, 1.0]), turns) / turns
    turned = np.stack([np.roll(template.logs, -first) for first in range(wheel.teeth)], axis=1)
    evidence = marginal(turned, steps, template.error) + prior(kind, wheel) - np.log(wheel.teeth)
    for first in range(wheel.teeth):
        yield Explanation(kind, wheel, first, turns, float(evidence[first]))


def prior(kind: Kind, wheel: Wheel | None) -> float:
    """Return the log prior of a wheel: of one of our own, less for each odd step and for each tooth that is missing."""
    if kind != "grid" or wheel is None:
        return _PRIOR[kind]
    steps = np.diff([*wheel.angles, 1.0])
    missing = steps / np.median(steps) - 1
    return _PRIOR[kind] - float(_ODD_STEP * np.sum(np.abs(missing) > 1e-6) + _MISSING * np.sum(np.maximum(missing, 0)))


def uneven_evidence(logs: Array, error: Array) -> float:
    """Return the log of prior and evidence of a wheel of any steps, (place,) mean logs and their errors."""
    free = _normal(logs[:, None] + np.log(logs.size), np.diag(_UNEVEN**2 + error**2)[None] + 1.0)
    return float(free[0, 0]) + _PRIOR["uneven"]


def marginal(logs: Array, steps: Array, error: Array) -> Array:
    """Return the log evidence of each column of logs, averaged over sizes of tooth errors and kinds of ripple."""
    rest = logs - np.log(steps)[:, None]
    ripples = _ripples(tuple(steps.tolist()))
    tooth = (np.square(_TOOTH) + float(np.mean(error**2)))[:, None, None, None] * np.eye(steps.size)
    each = _normal(rest, (tooth + ripples).reshape(-1, steps.size, steps.size) + 1.0)
    return np.logaddexp.reduce(each, axis=0) - np.log(each.shape[0])


@lru_cache(maxsize=128)
def _ripples(widths: tuple[float, ...]) -> Array:
    """Return covariances (kind of ripple, place, place) of what ripple of some size and order adds to log intervals.

    An interval shows the mean of the ripple over its step: sin(pi h D) / (pi h D) of the amplitude of order h.
    """
    steps = np.array(widths)
    angle = 2 * np.pi * (np.cumsum(steps) - steps / 2)
    orders = np.arange(1, _ORDERS + 1, dtype=np.int64)
    shown = np.sinc(orders[:, None] * steps[None, :])
    smooth = np.minimum(1.0, (4 / orders) ** 4)
    spectra = [_spectrum(orders, first) for first in _FIRST_ORDERS] if steps.size <= _COARSE else [smooth]
    power = np.array([_RIPPLE[0] ** 2 * smooth] + [size**2 * each for size in _RIPPLE[1:] for each in spectra])
    waves = np.concatenate([shown * np.cos(orders[:, None] * angle), shown * np.sin(orders[:, None] * angle)])
    return (waves.T[None] * np.tile(power, 2)[:, None, :]) @ waves


def _spectrum(orders: NDArray[np.int64], first: int) -> Array:
    """Return the power of each order of a ripple of so many compressions a turn: its multiples, a little else."""
    multiple = orders // first
    return np.where(orders % first == 0, np.maximum(_HARMONIC ** (2.0 * (multiple - 1)), _REST), _REST)


def _normal(columns: Array, covariances: Array) -> Array:
    """Return the log density (covariance, column) of each column (place, column) under each covariance."""
    size = columns.shape[0]
    root = np.linalg.cholesky(covariances)
    solved = np.linalg.solve(covariances, np.broadcast_to(columns, (covariances.shape[0], *columns.shape)))
    squares = np.sum(columns * solved, axis=1)
    widths = np.sum(np.log(np.diagonal(root, axis1=1, axis2=2)), axis=1)
    return -0.5 * squares - widths[:, None] - 0.5 * size * _LOG_TWO_PI
