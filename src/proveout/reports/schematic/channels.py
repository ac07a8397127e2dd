"""Lines in the channel between two columns: one upright track for each net that does not run straight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations

__all__ = ["Link", "Routing", "Run", "route"]

CLEAR = 6.0
"""Two lines at heights closer than this [px] would touch."""


@dataclass(frozen=True)
class Run:
    """A net, or its left or right half, in a channel: heights of its ends at both edges, and its track."""

    net: str
    left: tuple[float, ...]
    right: tuple[float, ...]
    link: float | None = None
    track: int = -1
    """-1: straight across, no upright line."""

    @property
    def heights(self) -> tuple[float, ...]:
        """All heights at which it has an end, in order."""
        extra = () if self.link is None else (self.link,)
        return tuple(sorted({*self.left, *self.right, *extra}))

    @property
    def straight(self) -> bool:
        """Whether it needs no upright line."""
        return len(self.heights) == 1


@dataclass(frozen=True)
class Link:
    """A level line between two tracks of one net."""

    net: str
    height: float
    first: int
    last: int


@dataclass(frozen=True)
class Routing:
    """All lines of a channel; tracks count from 0 at the left."""

    runs: tuple[Run, ...]
    links: tuple[Link, ...]
    tracks: int


def route(nets: Mapping[str, tuple[tuple[float, ...], tuple[float, ...]]]) -> Routing:
    """Give each net of a channel its track.

    Where the end of one net at the left faces the end of another at the right, the first must turn off before the
    second. Circles of such demands are opened by a dogleg (Deutsch 1976). Otherwise the order that crosses least wins.
    """
    runs = [Run(net, tuple(sorted(left)), tuple(sorted(right))) for net, (left, right) in nets.items()]
    while True:
        bent = [run for run in runs if not run.straight]
        before = _demands(bent)
        circle = _circle(before)
        if circle is None:
            break
        runs = _split(runs, bent[circle])
    tracks = _tracks(bent, _preferences(bent, before))
    placed = [Run(r.net, r.left, r.right, r.link, track) for r, track in zip(bent, tracks, strict=True)]
    straight = [run for run in runs if run.straight]
    links = [
        Link(first.net, first.link, first.track, second.track)
        for first, second in permutations(placed, 2)
        if first.net == second.net and first.link is not None and first.track < second.track
    ]
    return Routing(tuple(straight + placed), tuple(links), 1 + max(tracks, default=-1))


def _faces(first: Run, second: Run) -> bool:
    """Whether `first` must turn off left of `second`."""
    if first.net == second.net:
        return bool(first.link is not None and first.left and not first.right)
    return any(abs(a - b) < CLEAR for a in first.left for b in second.right)


def _demands(runs: list[Run]) -> list[set[int]]:
    """Return for each run the numbers of those that must lie right of it."""
    return [{j for j, b in enumerate(runs) if i != j and _faces(a, b)} for i, a in enumerate(runs)]


def _reaches(first: int, last: int, after: list[set[int]]) -> bool:
    seen, stack = set[int](), [first]
    while stack:
        at = stack.pop()
        for following in after[at]:
            if following == last:
                return True
            if following not in seen:
                seen.add(following)
                stack.append(following)
    return False


def _circle(after: list[set[int]]) -> int | None:
    return next((i for i in range(len(after)) if _reaches(i, i, after)), None)


def _split(runs: list[Run], run: Run) -> list[Run]:
    taken = [height for other in runs for height in other.heights]
    low, high = min(taken) - 12.0, max(taken) + 12.0
    middle = (run.heights[0] + run.heights[-1]) / 2
    choices = sorted(
        (low + 2.0 * i for i in range(int((high - low) / 2.0) + 1)), key=lambda height: (abs(height - middle), height)
    )
    link = next(height for height in choices if all(abs(height - other) >= CLEAR for other in taken))
    halves = [Run(run.net, run.left, (), link), Run(run.net, (), run.right, link)]
    return [half for other in runs for half in (halves if other is run else [other])]


def _preferences(runs: list[Run], demands: list[set[int]]) -> list[set[int]]:
    after = [set(following) for following in demands]
    wishes = []
    for i, j in permutations(range(len(runs)), 2):
        gain = _crossed(runs[j], runs[i]) - _crossed(runs[i], runs[j])
        if gain > 0 or (gain == 0 and i < j and _meet(runs[i], runs[j])):
            wishes.append((-gain, i, j))
    for _, i, j in sorted(wishes):
        if not _reaches(j, i, after):
            after[i].add(j)
    return after


def _crossed(left: Run, right: Run) -> int:
    """Return how often two runs cross with `left` in the track further left."""
    low, high = right.heights[0], right.heights[-1]
    over = sum(low < height < high for height in left.right)
    low, high = left.heights[0], left.heights[-1]
    return over + sum(low < height < high for height in right.left)


def _meet(first: Run, second: Run) -> bool:
    return first.heights[0] - CLEAR < second.heights[-1] and second.heights[0] - CLEAR < first.heights[-1]


def _tracks(runs: list[Run], after: list[set[int]]) -> list[int]:
    before: list[set[int]] = [{i for i, following in enumerate(after) if j in following} for j in range(len(runs))]
    tracks = [-1] * len(runs)
    while -1 in tracks:
        ready = next(i for i in range(len(runs)) if tracks[i] < 0 and all(tracks[j] >= 0 for j in before[i]))
        track = 1 + max((tracks[j] for j in before[ready]), default=-1)
        while any(tracks[j] == track and _meet(runs[ready], runs[j]) for j in range(len(runs))):
            track += 1
        tracks[ready] = track
    return tracks
