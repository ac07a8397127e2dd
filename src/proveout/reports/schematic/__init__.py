"""The schematic: placed, routed and drawn."""

from proveout.reports.schematic.schematic import Schematic, arrangement, draw_schematic, lay_out

__all__ = ["Schematic", "arrangement", "draw_schematic", "lay_out"]
