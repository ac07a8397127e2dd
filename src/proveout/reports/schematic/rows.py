"""Heights of all rows: difference constraints from top to bottom, with rows merged where a line can run straight.

Each row is a variable y. Demands have the form `y[b] >= y[a] + d`; a negative d bounds how far apart two rows may
drift. Two rows joined by a line become one variable unless that closed a circle of demands of positive length. The
least solution is a longest path (Bellman 1958); then each row with room moves towards what it is joined to.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from statistics import median

__all__ = ["Rows"]

SETTLE = 60


class Rows:
    """A growing set of rows with distances between them."""

    def __init__(self) -> None:
        self._parent: dict[str, str] = {}
        self._after: dict[str, dict[str, float]] = defaultdict(dict)

    def space(self, upper: str, lower: str, distance: float) -> None:
        """Demand that `lower` lies at least `distance` [px] below `upper` (at most -distance above, if negative)."""
        a, b = self._find(upper), self._find(lower)
        self._after[a][b] = max(distance, self._after[a].get(b, distance))

    def bound(self, upper: str, lower: str, distance: float) -> None:
        """Demand that `lower` lies at most `distance` [px] below `upper`."""
        self.space(lower, upper, -distance)

    def align(self, first: str, second: str) -> bool:
        """Put two rows at one height if the demands allow it; say whether they did."""
        a, b = self._find(first), self._find(second)
        if a == b:
            return True
        if self._longest(a, b) > 0 or self._longest(b, a) > 0:
            return False
        self._parent[b] = a
        for other, distance in self._after.pop(b, {}).items():
            if other != a:
                self._after[a][other] = max(distance, self._after[a].get(other, distance))
        for name, others in self._after.items():
            if b in others:
                distance = others.pop(b)
                if name != a:
                    others[a] = max(distance, others.get(a, distance))
        return True

    def solve(self, joined: Iterable[Sequence[str]]) -> dict[str, float]:
        """Return the height of every row; rows in one of `joined` pull one another where there is room."""
        names = list(dict.fromkeys(self._find(name) for name in self._parent))
        y = self._relax(dict.fromkeys(names, 0.0), names)
        self._settle(y, names, joined)
        top = min(y.values(), default=0.0)
        return {name: round(y[self._find(name)] - top) for name in self._parent}

    def _settle(self, y: dict[str, float], names: list[str], joined: Iterable[Sequence[str]]) -> None:
        pull: dict[str, list[str]] = defaultdict(list)
        for rows in joined:
            classes = list(dict.fromkeys(self._find(row) for row in rows))
            for one in classes:
                pull[one] += [other for other in classes if other != one]
        before: dict[str, list[tuple[str, float]]] = defaultdict(list)
        for upper, lowers in self._after.items():
            for lower, distance in lowers.items():
                before[lower].append((upper, distance))
        order = sorted((name for name in names if pull[name]), key=lambda name: (y[name], name))
        for turn in range(SETTLE):
            for name in order if turn % 2 else reversed(order):
                low = max((y[upper] + distance for upper, distance in before[name]), default=-float("inf"))
                high = min((y[lower] - distance for lower, distance in self._after[name].items()), default=float("inf"))
                y[name] = min(max(median(y[other] for other in pull[name]), low), high)

    def _find(self, name: str) -> str:
        self._parent.setdefault(name, name)
        while self._parent[name] != name:
            name = self._parent[name]
        return name

    def _longest(self, first: str, last: str) -> float:
        return self._relax({first: 0.0}, [first]).get(last, -float("inf"))

    def _relax(self, y: dict[str, float], start: Sequence[str]) -> dict[str, float]:
        """Raise every row to the longest path that leads to it; the demands hold no circle of positive length."""
        queue, waiting = deque(start), set(start)
        while queue:
            name = queue.popleft()
            waiting.discard(name)
            for other, distance in self._after.get(name, {}).items():
                if y[name] + distance > y.get(other, -float("inf")) + 1e-9:
                    y[other] = y[name] + distance
                    if other not in waiting:
                        waiting.add(other)
                        queue.append(other)
        return y
