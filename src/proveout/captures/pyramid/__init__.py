"""The extremes of a long recording at every zoom level, kept beside its samples."""

from proveout.captures.pyramid.build import FACTOR, level_sizes
from proveout.captures.pyramid.pyramid import Pyramid, build, open_pyramid, write_pyramid

__all__ = ["FACTOR", "Pyramid", "build", "level_sizes", "open_pyramid", "write_pyramid"]
