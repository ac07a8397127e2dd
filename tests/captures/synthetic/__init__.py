"""Signals with a known truth: a wheel as cut, a motion, a sensor and what spoils it. Shared by tests and measurements.

Nothing here comes from the product: edges are where the angle of the motion crosses the angles of the wheel.
"""

from captures.synthetic.motion import Crossings, Motion, coast_down, cranking, from_speed, rocking_stop, steady, sweep
from captures.synthetic.passing import Passing, pass_sensor
from captures.synthetic.recording import HALL, RELUCTANCE, TWO_WIRE, Recording, Sensor, record, with_noise
from captures.synthetic.wheels import (
    CutWheel,
    added_tooth,
    even_teeth,
    lobes,
    missing_teeth,
    run_lengths,
    width_coded,
    with_tooth_errors,
)

__all__ = [
    "HALL",
    "RELUCTANCE",
    "TWO_WIRE",
    "Crossings",
    "CutWheel",
    "Motion",
    "Passing",
    "Recording",
    "Sensor",
    "added_tooth",
    "coast_down",
    "cranking",
    "even_teeth",
    "from_speed",
    "lobes",
    "missing_teeth",
    "pass_sensor",
    "record",
    "rocking_stop",
    "run_lengths",
    "steady",
    "sweep",
    "width_coded",
    "with_noise",
    "with_tooth_errors",
]
