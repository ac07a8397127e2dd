"""Lines in a channel: they turn off so that no two nets lie on one another."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.reports.schematic.channels import CLEAR, Routing, route

Pins = dict[str, tuple[tuple[float, ...], tuple[float, ...]]]


@st.composite
def _channels(draw: st.DrawFn) -> Pins:
    """Draw the pins of up to six nets on rows 20 px apart at both edges, each row used once."""
    pins: dict[str, tuple[list[float], list[float]]] = {}
    for edge in (0, 1):
        owners = draw(st.lists(st.sampled_from(["", "a", "b", "c", "d", "e", "f"]), max_size=9))
        for row, owner in enumerate(owners):
            if owner:
                pins.setdefault(owner, ([], []))[edge].append(20.0 * row)
    return {net: (tuple(left), tuple(right)) for net, (left, right) in pins.items()}


def _levels(routing: Routing) -> list[tuple[str, float, float, float]]:
    """Return every level piece as net, height and the tracks between which it runs (edges at -1 and the last)."""
    end = float(routing.tracks)
    found = []
    for run in routing.runs:
        if run.straight:
            found.append((run.net, run.heights[0], -1.0 if run.left else end, end if run.right else -1.0))
            continue
        found += [(run.net, height, -1.0, float(run.track)) for height in run.left]
        found += [(run.net, height, float(run.track), end) for height in run.right]
    return found + [(link.net, link.height, float(link.first), float(link.last)) for link in routing.links]


@settings(deadline=None)
@given(_channels())
def test_no_two_nets_ever_lie_on_one_another(pins: Pins) -> None:
    routing = route(pins)
    for a, b in combinations(_levels(routing), 2):
        if a[0] != b[0] and abs(a[1] - b[1]) < CLEAR:
            assert a[3] < b[2] or b[3] < a[2], (a, b)
    for first, second in combinations(routing.runs, 2):
        if first.net != second.net and first.track == second.track >= 0:
            assert first.heights[-1] < second.heights[0] or second.heights[-1] < first.heights[0]


@settings(deadline=None)
@given(_channels())
def test_every_pin_of_every_net_is_reached(pins: Pins) -> None:
    routing = route(pins)
    for net, (left, right) in pins.items():
        runs = [run for run in routing.runs if run.net == net]
        assert sorted(h for run in runs for h in run.left) == sorted(left)
        assert sorted(h for run in runs for h in run.right) == sorted(right)
        if len(runs) == 2:
            assert sum(link.net == net for link in routing.links) == 1


def test_two_nets_that_change_places_need_a_dogleg() -> None:
    routing = route({"a": ((0.0,), (20.0,)), "b": ((20.0,), (0.0,))})
    assert len(routing.links) == 1


def test_a_line_that_need_not_turn_runs_straight() -> None:
    routing = route({"a": ((0.0,), (0.0,)), "b": ((20.0,), (20.0,))})
    assert routing.tracks == 0
