"""Which wheel gave a train of edges, and which tooth gave each edge."""

from proveout.captures.analysis.pattern.find import find_wheel
from proveout.captures.analysis.pattern.usual_wheels import UsualWheel, usual_wheels

__all__ = ["UsualWheel", "find_wheel", "usual_wheels"]
