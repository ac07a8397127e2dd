"""What a meter or scope shows of a network: functions, ranges, accuracy, over-limit, leads and loading.

What people type is read by `proveout.instruments.parsing`, which is not imported here: its units library is slow to
start, and only a command that takes typed readings needs it.
"""

from __future__ import annotations

from .display import describe, engineering
from .functions import Function
from .meter import Broad, Capability, Meter, Range
from .meter_file import default_meter, load_meter, read_meter
from .reading import Reading
from .safety import LIVE_LIMIT, check_ohms_safe, live

__all__ = [
    "LIVE_LIMIT",
    "Broad",
    "Capability",
    "Function",
    "Meter",
    "Range",
    "Reading",
    "check_ohms_safe",
    "default_meter",
    "describe",
    "engineering",
    "live",
    "load_meter",
    "read_meter",
]
