"""What the samples say: pure functions of arrays and a sample rate."""

from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.wheel import Wheel, WheelFit

__all__ = ["Edges", "Wheel", "WheelFit"]
