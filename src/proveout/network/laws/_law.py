"""What a branch law owes: flow from effort difference, monotone, with its slope and parameter slopes."""

from __future__ import annotations

from typing import ClassVar, Protocol

import numpy as np
import numpy.typing as npt

__all__ = ["Array", "ContentLaw", "Law"]

Array = npt.NDArray[np.float64]


class Law(Protocol):
    """One monotone two-terminal law ``flow = f(effort difference; parameters)``.

    A network of monotone branches has one solution, the minimum of its total content (Duffin 1946; Millar 1951), so
    Newton's method with step halving on the content cannot get lost. Units are volt and ampere for a wire, pascal and
    kilogram per second for a hose: a law does not know which.

    The flow of a `directed` law hangs on both efforts apart, not on their difference: gas through a restriction. It
    never falls with the first and never rises with the second (an M-function, Rheinboldt 1970), so there is one
    solution too, but no content. `u` then holds the efforts of both ends, (2, ..., batch), and so do its slopes: by the
    first, and by the second with the sign turned, neither negative.
    """

    name: ClassVar[str]
    parameters: ClassVar[tuple[str, ...]]
    absent: ClassVar[tuple[float, ...]]
    """Parameter values of a branch that is taken out: no flow at any effort difference."""
    linear: ClassVar[bool]
    directed: ClassVar[bool]

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow from the first to the second node; `u` : (..., batch), `p` : (parameter, ..., batch)."""
        ...

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slope d flow / d u, which is never negative; they share their costly terms."""
        ...

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return where to take the next tangent: at `new`, or short of it where the one at `old` says little of it."""
        ...

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return d flow / d parameter, shape of `p`."""
        ...


class ContentLaw(Law, Protocol):
    """A law that is not directed: its flow is the slope of a content, on which a descent can be checked."""

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return the integral of the flow from 0 to `u`, convex in `u`."""
        ...
