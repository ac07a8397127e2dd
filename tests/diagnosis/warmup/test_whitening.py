"""Whitened residuals against the density of the whole covariance matrix."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from proveout.diagnosis.warmup.whitening import LAG, whitening


def test_the_log_density_is_that_of_the_whole_covariance() -> None:
    count, interval, drift, white = 400, 5.0, 0.8, 0.35
    times = interval * np.arange(count)
    covariance = drift**2 * np.exp(-np.abs(times[:, None] - times) / LAG) + white**2 * np.eye(count)
    residual = np.random.default_rng(3).multivariate_normal(np.zeros(count), covariance)
    wanted = float(multivariate_normal(cov=covariance).logpdf(residual))
    # The steady filter differs from the exact one in the first few readings only.
    assert whitening(drift, white, interval).log_density(residual) == pytest.approx(wanted, abs=1.5)


def test_innovations_of_a_drift_are_independent_and_of_unit_variance() -> None:
    rng = np.random.default_rng(4)
    keep = np.exp(-5.0 / LAG)
    drift = np.zeros(20_000)
    for k in range(1, drift.size):
        drift[k] = keep * drift[k - 1] + np.sqrt(1.0 - keep**2) * rng.standard_normal()
    white = whitening(1.0, 0.35, 5.0).applied(drift + 0.35 * rng.standard_normal(drift.size))
    assert np.var(white) == pytest.approx(1.0, abs=0.05)
    assert np.corrcoef(white[1:], white[:-1])[0, 1] == pytest.approx(0.0, abs=0.03)
