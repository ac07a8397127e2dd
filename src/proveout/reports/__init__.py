"""Drawings and the report of a case."""

from proveout.reports.schematic import Schematic, draw_schematic, lay_out

__all__ = ["Schematic", "draw_schematic", "lay_out"]
