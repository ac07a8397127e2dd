r"""Broad densities over all that an instrument can show: the rival to every explanation.

With the probability m of an over-limit display and a span [a, b], a shown value x has the density (1 - m) f(x), where
f is one of

mixture
    w U(low, high) + (1 - w) U(a, b): mostly what a vehicle's circuit ordinarily shows, the rest anywhere.
log
    1 / (|x| + c) divided by ln((|a| + c) / c) + ln((|b| + c) / c), for a <= 0 <= b: every decade above the knee c (one
    count of the lowest range) is equally likely, and the part below one count is even.

Both integrate to one over the span, so that the whole, with m, is a probability.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["log_log_density", "mixture_log_density", "with_over_limit"]


def mixture_log_density(
    value: ArrayLike, *, least: float, most: float, low: float, high: float, weight: float
) -> NDArray[np.float64]:
    """Log density of the mixture of two even spans.

    Parameters
    ----------
    value : (...) float
    least, most : float
        The whole span.
    low, high : float
        The ordinary span, within the whole.
    weight : float
        Probability of the ordinary span.

    Returns
    -------
    (...) float
        Per unit of the value; minus infinity outside the whole span and for NaN.
    """
    x = np.asarray(value, dtype=float)
    ordinary = np.where((x >= low) & (x <= high), weight / (high - low), 0.0)
    anywhere = np.where((x >= least) & (x <= most), (1.0 - weight) / (most - least), 0.0)
    with np.errstate(divide="ignore"):
        density: NDArray[np.float64] = np.log(ordinary + anywhere)
    return density


def log_log_density(value: ArrayLike, *, least: float, most: float, knee: float) -> NDArray[np.float64]:
    """Log density of the log-even spread with an even part below the knee.

    Parameters
    ----------
    value : (...) float
    least, most : float
        The whole span, least <= 0 <= most.
    knee : float
        Positive; below it the density is level.

    Returns
    -------
    (...) float
        Per unit of the value; minus infinity outside the span and for NaN.
    """
    x = np.asarray(value, dtype=float)
    inside = (x >= least) & (x <= most)
    total = np.log1p(most / knee) + np.log1p(-least / knee)
    return np.where(inside, -np.log(np.abs(np.where(inside, x, 0.0)) + knee) - np.log(total), -np.inf)


def with_over_limit(log_density: ArrayLike, over_limit: ArrayLike, mass: float) -> NDArray[np.float64]:
    """Join a density of shown values with the probability `mass` of an over-limit display.

    Where `over_limit` is true the result is a log probability, elsewhere a log density.
    """
    shown: NDArray[np.float64] = np.log1p(-mass) + np.asarray(log_density, dtype=float)
    joined: NDArray[np.float64] = np.where(np.asarray(over_limit, dtype=bool), np.log(mass), shown)
    return joined
