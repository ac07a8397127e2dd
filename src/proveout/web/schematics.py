"""Schematics of the cases' circuits, placed once and drawn as often as a set-up changes."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor

from markupsafe import Markup

from proveout.circuits.schema import Circuit
from proveout.reports.schematic import arrangement, draw_schematic
from proveout.reports.schematic.grid import Grid
from proveout.web.recent import Recent

__all__ = ["Schematics"]


class Schematics:
    """Drawings by the text of the circuit's file, measurement and set-up."""

    def __init__(self) -> None:
        self._placed: Recent[str, Grid] = Recent(8)
        self._drawn: Recent[tuple[str, str | None, str | None], Markup] = Recent(64)
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="schematics")

    def draw_ahead(self, circuit: Circuit, text: str, measurements: Iterable[str]) -> None:
        """Draw beside the pages what is likely asked for next."""
        for name in measurements:
            if self._drawn.get((text, name, circuit.measurements[name].setup)) is None:
                self._worker.submit(self.draw, circuit, text, name, circuit.measurements[name].setup)

    def draw(self, circuit: Circuit, text: str, measurement: str | None = None, setup: str | None = None) -> Markup:
        """Return the schematic as SVG, in which every text is escaped; raises as `draw_schematic`."""

        def drawn() -> Markup:
            placed = self._placed.made(text, lambda: arrangement(circuit))
            return Markup(draw_schematic(circuit, measurement=measurement, setup=setup, arranged=placed))

        return self._drawn.made((text, measurement, setup), drawn)
