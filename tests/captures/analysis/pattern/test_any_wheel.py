"""Any wheel at any motion, noise and rate down to four samples a tooth: right, or unsure, never surely wrong."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from captures.synthetic import (
    HALL,
    RELUCTANCE,
    CutWheel,
    Motion,
    added_tooth,
    coast_down,
    cranking,
    even_teeth,
    lobes,
    missing_teeth,
    record,
    run_lengths,
    steady,
    sweep,
)
from proveout.captures.analysis.wheel import Wheel, WheelFit
from proveout.captures.capture import Channel, Clock
from proveout.captures.study import ChannelStudy

WHEELS = [
    *(missing_teeth(slots, gap) for slots, gap in ((60, 2), (36, 1), (36, 2), (24, 1), (12, 1), (4, 1), (45, 3))),
    run_lengths("36-2-2-2", 36, [(13, 2), (16, 2), (1, 2)]),
    run_lengths("24 places: 17 on 1 off, 5 on 1 off", 24, [(17, 1), (5, 1)]),
    added_tooth(12),
    added_tooth(4),
    lobes("cam", [(0, 30), (62, 100), (180, 210), (250, 280)]),
    *(even_teeth(teeth) for teeth in (3, 8, 36)),
]
MOTIONS = {
    "steady": lambda ripple: steady(700, 9, 0.3),
    "sweep": lambda ripple: sweep(300, 1500, 12, 0.6),
    "cranking": lambda ripple: cranking(200, 8, ripple=ripple, run_up=0.5, start=0.2, phase=0.1),
    "three cylinders": lambda ripple: cranking(200, 9, ripple=ripple, per_turn=1.5, depths=(1, 0.8, 0.9)),
    "coast-down": lambda ripple: coast_down(900, 10, ripple=ripple),
}


def answer(
    wheel: CutWheel, motion: Motion, seed: int, *, noise_db: float, samples: float, coil: bool = False, lost: int = 0
) -> WheelFit:
    sensor = RELUCTANCE if coil else HALL
    recording = record(
        wheel,
        motion,
        sensor,
        np.random.default_rng(seed),
        samples_a_tooth=samples,
        noise_db=noise_db,
        tooth_error=0.02,
        lost=lost,
    )
    return ChannelStudy(Channel("sensor", "V", recording.samples, Clock(rate=recording.rate))).wheel


def same_angles(found: Wheel, wheel: CutWheel) -> bool:
    """Whether a wheel in our own words has its teeth, or their ends, within a quarter of a pitch of those cut."""
    if wheel.name.isdigit() or found.teeth != wheel.teeth:
        return False
    cuts = [np.sort(np.asarray(cut) - cut[first]) for cut in (wheel.rise, wheel.fall) for first in range(wheel.teeth)]
    return any(np.max(np.abs(np.sort(cut % 1.0) - found.angles)) < wheel.pitch / 4 for cut in cuts)


@pytest.mark.slow
@settings(max_examples=120, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    wheel=st.sampled_from(WHEELS),
    motion=st.sampled_from(sorted(MOTIONS)),
    ripple=st.floats(0.0, 0.45),
    noise_db=st.floats(15.0, 50.0),
    samples=st.floats(4.0, 40.0),
    coil=st.booleans(),
    lost=st.integers(0, 2),
    seed=st.integers(0, 2**31),
)
def test_a_wheel_that_is_named_is_the_wheel(
    wheel: CutWheel, motion: str, ripple: float, noise_db: float, samples: float, coil: bool, lost: int, seed: int
) -> None:
    fit = answer(wheel, MOTIONS[motion](ripple), seed, noise_db=noise_db, samples=samples, coil=coil, lost=lost)
    if fit.wheel is None:
        assert fit.reason
    else:
        assert fit.wheel.name == wheel.name or same_angles(fit.wheel, wheel), (fit.wheel.name, fit.candidates)
        assert fit.probability >= 0.95
