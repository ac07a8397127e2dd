"""Any wheel, speed, noise and sampling rate down to four samples a tooth: right or said to be unsure, never made up."""

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from captures.synthetic import (
    HALL,
    RELUCTANCE,
    TWO_WIRE,
    CutWheel,
    Motion,
    Sensor,
    cranking,
    even_teeth,
    missing_teeth,
    record,
    steady,
    sweep,
)
from proveout.captures import Capture, Channel, Clock, Origin
from proveout.captures.analyse import analyse

WHEELS = (missing_teeth(60, 2), missing_teeth(36, 1), missing_teeth(36, 2), even_teeth(48), even_teeth(100))
SENSORS = ((RELUCTANCE, "V"), (HALL, "V"), (TWO_WIRE, "A"))
speeds = st.floats(80, 3000)
motions = st.one_of(
    st.builds(steady, speeds, st.just(12)),
    st.builds(sweep, speeds, speeds, st.just(16)),
    st.builds(lambda rpm, ripple: cranking(rpm, 12, ripple=ripple), st.floats(100, 250), st.floats(0.0, 0.35)),
)


@pytest.mark.slow
@settings(deadline=None, max_examples=60, phases=(Phase.explicit, Phase.generate))
@given(
    st.sampled_from(WHEELS),
    st.sampled_from(SENSORS),
    motions,
    st.floats(4, 40),
    st.floats(18, 45),
    st.integers(0, 2**32 - 1),
)
def test_what_is_said_of_a_wheel_is_true(
    wheel: CutWheel, sensor: tuple[Sensor, str], motion: Motion, samples_a_tooth: float, noise_db: float, seed: int
) -> None:
    kind, unit = sensor
    made = record(
        wheel, motion, kind, np.random.default_rng(seed),
        samples_a_tooth=samples_a_tooth, noise_db=noise_db, tooth_error=0.01,
    )  # fmt: skip
    channel = Channel("sensor", unit, made.samples, Clock(rate=made.rate))
    found = analyse(Capture((channel,), Origin("made", "numpy", 0, "0" * 64)))
    for wheel_found in found.of("wheel"):
        assert wheel_found.word == wheel.name, wheel_found
    for speed in found.of("mean speed"):
        assert speed.value is not None and speed.start is not None and speed.end is not None
        turns = np.diff(motion.angle(np.array([speed.start, speed.end])))[0]
        assert speed.value == pytest.approx(turns / (speed.end - speed.start), rel=0.01)
    for lost in found.of("lost teeth"):
        assert lost.value == 0, lost
    for speed in found.of("highest speed"):
        assert speed.value is not None and speed.value < 1.1 * motion.fastest
