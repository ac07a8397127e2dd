"""Cam against crank: phase, scatter, and a jump of one tooth."""

from __future__ import annotations

import numpy as np
import pytest

from captures.analysis.matched import matched
from captures.synthetic import CutWheel, Motion, cranking, lobes, missing_teeth, pass_sensor
from proveout.captures.analysis.cam_phase import CamPhase, cam_phase, phase_shift
from proveout.captures.analysis.turn_grid import turn_grid
from proveout.errors import InputError

CAM = lobes("3", [(20, 60), (110, 140), (250, 300)])
DRIVE = 21  # teeth of the belt pulley on the crankshaft of an invented engine


def both(cam: CutWheel, motion: Motion, seed: int = 1, jitter: float = 0.0) -> CamPhase:
    rng = np.random.default_rng(seed)
    crank = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, rng)))
    half = Motion(motion.times, motion.angles / 2)
    return cam_phase(crank, matched(pass_sensor(cam, half, rng, jitter=jitter)))


def test_each_cam_edge_stands_at_twice_its_cam_angle() -> None:
    found = both(CAM, cranking(220, 40, ripple=0.3))
    assert np.sort(found.angle) == pytest.approx([40, 220, 500], abs=0.1)
    assert np.max(found.scatter) < 0.2


def test_scatter_is_that_of_the_edges() -> None:
    # A jitter of 0.01 cam pitches (90 cam degrees each): 0.9 cam degrees, 1.8 crank degrees.
    found = both(CAM, cranking(220, 200, ripple=0.1), jitter=0.01)
    assert np.mean(found.scatter) == pytest.approx(0.01 * CAM.pitch * 720, rel=0.2)
    assert found.uncertainty == pytest.approx(found.scatter / np.sqrt(found.cycles), rel=0.05)


@pytest.mark.parametrize("teeth", [-2, -1, 0, 1])
def test_a_belt_that_jumped_shows_as_whole_teeth(teeth: int) -> None:
    reference = both(CAM, cranking(220, 40, ripple=0.3))
    jumped = both(CAM.shifted(teeth / DRIVE / 2), cranking(180, 37, ripple=0.25, start=1.3), seed=2, jitter=0.001)
    found = phase_shift(jumped, reference, DRIVE)
    assert found.shift == pytest.approx(teeth * 360 / DRIVE, abs=0.6)
    assert found.teeth == pytest.approx(teeth, abs=0.05)
    assert found.jumped is (teeth != 0)
    assert found.unlike < 2


def test_a_shift_that_is_no_whole_tooth_is_said_to_be_something_else() -> None:
    reference = both(CAM, cranking(220, 40, ripple=0.3))
    found = phase_shift(both(CAM.shifted(0.42 / DRIVE / 2), cranking(220, 40, ripple=0.3)), reference, DRIVE)
    assert found.jumped is False
    assert "no whole number" in found.reason


def test_without_the_drives_teeth_the_shift_is_given_in_degrees_only() -> None:
    reference = both(CAM, cranking(220, 40, ripple=0.3))
    found = phase_shift(both(CAM.shifted(1 / DRIVE / 2), cranking(220, 40, ripple=0.3)), reference)
    assert found.shift == pytest.approx(360 / DRIVE, abs=0.5)
    assert found.jumped is None
    assert found.teeth is None


def test_one_bent_lobe_is_not_taken_for_a_jump() -> None:
    bent = lobes("3", [(26, 60), (110, 140), (250, 300)])
    reference = both(CAM, cranking(220, 40, ripple=0.3))
    found = phase_shift(both(bent, cranking(220, 40, ripple=0.3)), reference, DRIVE)
    assert abs(found.shift) < 0.5
    assert found.unlike == pytest.approx(12, abs=0.5)


def test_cam_edges_outside_the_cranks_record_are_refused() -> None:
    motion = cranking(220, 8, ripple=0.1)
    crank = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, np.random.default_rng(1))))
    late = Motion(motion.times + 100, motion.angles / 2)
    with pytest.raises(InputError, match="record both longer"):
        cam_phase(crank, matched(pass_sensor(CAM, late, np.random.default_rng(1))))
