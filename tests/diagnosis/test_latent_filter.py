"""The square-root filter against the conditioning of a joint Gaussian.

The formula is the textbook's (Rasmussen and Williams 2006, A.2; from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from proveout.diagnosis.latent_filter import LatentFilter

ROWS, LATENTS, READINGS = 5, 4, 6


def test_readings_one_by_one_are_the_joint_gaussian_conditioned_on_all() -> None:
    rng = np.random.default_rng(6)
    mean, slopes = rng.normal(size=(ROWS, READINGS)), rng.normal(size=(ROWS, READINGS, LATENTS))
    noise, shown = rng.uniform(0.01, 1.0, (ROWS, READINGS)), rng.normal(size=READINGS)
    found = LatentFilter.start(ROWS, LATENTS)
    for k in range(READINGS):
        value, _ = found.predicted(mean[:, [k]], slopes[:, [k]])
        found = found.updated(slopes[:, k], shown[k] - value[:, 0], noise[:, k], np.ones(ROWS, dtype=bool))
    for row in range(ROWS):
        a = slopes[row]
        gain = a.T @ np.linalg.inv(a @ a.T + np.diag(noise[row]))
        assert found.shift[row] == pytest.approx(gain @ (shown - mean[row]))
        assert found.root[row] @ found.root[row].T == pytest.approx(np.eye(LATENTS) - gain @ a)


def test_a_row_that_does_not_use_a_reading_stays_as_it_was() -> None:
    before = LatentFilter.start(2, 3)
    use = np.array([True, False])
    after = before.updated(np.ones((2, 3)), np.ones(2), np.full(2, 0.1), use)
    assert np.array_equal(after.root[1], before.root[1])
    assert np.array_equal(after.shift[1], before.shift[1])
    assert not np.array_equal(after.root[0], before.root[0])
