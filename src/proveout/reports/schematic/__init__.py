"""The schematic: placed, routed and drawn."""

from proveout.reports.schematic.schematic import Schematic, draw_schematic, lay_out

__all__ = ["Schematic", "draw_schematic", "lay_out"]
