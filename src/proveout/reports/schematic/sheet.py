"""The sheet on which a schematic is drawn: shapes so far, and where everything is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from proveout.circuits.schema import Circuit
from proveout.reports.schematic.colours import Points, striped
from proveout.reports.schematic.frames import Frame, Marks
from proveout.reports.schematic.grid import Channel, Grid
from proveout.reports.svg import Box, Shape, Text

__all__ = ["Sheet", "Touch"]


@dataclass(frozen=True)
class Touch:
    """A pin on which a lead can be put: channel, its edge (0 left, 1 right) and cell."""

    channel: Channel
    edge: int
    cell: str


@dataclass
class Sheet:
    """The drawing as far as it is made: shapes from back to front, and where everything is."""

    grid: Grid
    circuit: Circuit
    marks: Marks
    frames: dict[str, Frame]
    y: dict[str, float]
    wires: list[Shape] = field(default_factory=list)
    symbols: list[Shape] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    places: dict[str, Box] = field(default_factory=dict)
    """Box of each part's symbol; a terminal's is its cavity."""
    spans: dict[Channel, tuple[float, float]] = field(default_factory=dict)
    """Left and right edge of each channel [px]."""
    columns: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Left and right edge of each group [px]."""
    slots: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Left and right edge of the column in which each group stands [px]."""
    colours: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Colours of each net that is drawn as its wire."""
    closed: frozenset[str] = frozenset()
    width: float = 0.0
    bottom: float = 0.0

    def wire(self, net: str, points: Points, *, plain: bool = False) -> None:
        """Draw a line of a net, in its wire's colours unless `plain`."""
        self.wires += striped([points], () if plain else self.colours.get(net, ()), net)
