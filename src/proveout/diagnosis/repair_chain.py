"""Repairing one suspect after another until the vehicle is cured: what it costs, whichever suspect it is.

The next is always the one with the highest probability over cost of those left (Kadane and Simon, 1977), with the cost
that it has by then: access that an earlier repair opened is not paid again.
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.circuits.repairs import access_closure
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.faults import NONE_OF_THESE
from proveout.diagnosis.model import Model
from proveout.network.laws import Array

__all__ = ["MINUTES", "MONEY", "RepairPrices", "chain", "repair_money", "repair_prices"]

Flags = npt.NDArray[np.bool_]
MINUTES, MONEY = 0, 1
"""Rows of every array of costs."""
IMPOSSIBLE = 1e-9  # share of all probability below which a suspect has none


@dataclass(frozen=True)
class RepairPrices:
    """What the repair of each suspect takes.

    Attributes
    ----------
    minutes, parts : (S,) float
        Work with the proof afterwards, without access; parts in money.
    access : (S, A) bool
    access_minutes : (A,) float
    access_names : tuple of str
    per_minute, wrong : float
        Money for a minute, and for a repair that does not cure, on top of itself.
    last : int
        Suspect that is never repaired before any other ('none of these').
    """

    minutes: Array
    parts: Array
    access: Flags
    access_minutes: Array
    access_names: tuple[str, ...]
    per_minute: float
    wrong: float
    last: int


def repair_prices(model: Model, shop: Shop) -> RepairPrices:
    """Return the prices of all repairs of a circuit in a shop."""
    circuit = model.circuit
    names = tuple(circuit.access)
    proof = circuit.behaviours[circuit.proof].minutes
    needs = [access_closure(circuit, s.repair.access) for s in model.suspects]
    return RepairPrices(
        minutes=np.array([s.repair.minutes + proof for s in model.suspects]),
        parts=np.array([s.repair.parts for s in model.suspects]),
        access=np.array([[a in need for a in names] for need in needs], dtype=bool).reshape(len(needs), len(names)),
        access_minutes=np.array([circuit.access[a].minutes for a in names]),
        access_names=names,
        per_minute=shop.labour_rate / 60.0,
        wrong=shop.wrong_repair,
        last=model.suspect_index[NONE_OF_THESE],
    )


def repair_money(prices: RepairPrices, opened: Set[str]) -> Array:
    """Return what the repair of each suspect costs from here, (S,), access not yet open included."""
    closed = np.array([a not in opened for a in prices.access_names], dtype=bool)
    minutes = prices.minutes + prices.access @ (closed * prices.access_minutes)
    return np.asarray(minutes * prices.per_minute + prices.parts)


def chain(prices: RepairPrices, chances: Array, opened: Set[str], first: int = -1) -> tuple[list[int], Array]:
    """Return the order of the repairs, and for each suspect what has been spent when its repair has cured.

    Parameters
    ----------
    chances : (S,) float
        Probability of each suspect, in any scale.
    opened : set of str
    first : int
        Suspect whose repair comes first whatever its probability; -1 for none.

    Returns
    -------
    order : list of int
    spent : (2, S) float
        Minutes and money.
    """
    closed = np.array([a not in opened for a in prices.access_names], dtype=bool)
    left = np.where(chances > IMPOSSIBLE * chances.sum(), chances, 0.0)
    left[prices.last] = 0.0
    order: list[int] = []
    spent, total = np.zeros((2, len(chances))), np.zeros(2)
    chosen = first if first >= 0 else -1
    while chosen >= 0 or left.any():
        minutes = prices.minutes + prices.access @ (closed * prices.access_minutes)
        money = minutes * prices.per_minute + prices.parts
        if chosen < 0:
            chosen = int((left / np.maximum(money + prices.wrong, 1e-9)).argmax())
        total += (minutes[chosen], money[chosen])
        spent[:, chosen] = total
        total[MONEY] += prices.wrong
        closed &= ~prices.access[chosen]
        left[chosen] = 0.0
        order.append(chosen)
        chosen = -1
    return _with_rest(prices, order, spent, total, closed)


def _with_rest(
    prices: RepairPrices, order: list[int], spent: Array, total: Array, closed: Flags
) -> tuple[list[int], Array]:
    """Add the suspects without any probability, the cheapest first, each with all the access that it needs."""
    minutes = prices.minutes + prices.access @ (closed * prices.access_minutes)
    money = minutes * prices.per_minute + prices.parts
    rest = [int(k) for k in np.argsort(money, kind="stable") if k not in order and k != prices.last]
    rest += [prices.last] if prices.last not in order else []
    each = np.stack([minutes[rest], money[rest] + prices.wrong])
    spent[:, rest] = total[:, None] + np.cumsum(each, axis=1) - [[0.0], [prices.wrong]]
    return order + rest, spent
