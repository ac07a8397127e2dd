"""Where a trace leaves its shut-valve course: made residuals with a known knee."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.diagnosis.warmup.knee import knee_chances


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("power", [1, 2])
def test_a_known_knee_is_found_within_its_uncertainty(seed: int, power: int) -> None:
    rng = np.random.default_rng(seed)
    times = np.arange(2.5, 1000.0, 5.0, dtype=np.float64)
    knee = float(rng.uniform(450.0, 550.0))
    residual = -(0.12 if power == 1 else 0.01) * np.maximum(times - knee, 0.0) ** power
    residual += 0.3 * rng.standard_normal(times.size)
    found, chance = knee_chances(times, residual, int((knee - 30.0) / 5.0))
    mean = float(found @ chance)
    spread = float(np.sqrt(chance @ (found - mean) ** 2))
    assert mean == pytest.approx(knee, abs=max(3.0 * spread, 6.0))
    assert spread < 15.0
