"""Where a signal stands while it is lost."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.captures.analysis.lost_level import level_while_lost
from proveout.captures.capture import Clock


def square(lost_at: float) -> np.ndarray:
    """Return a 100 Hz square wave of 0 and 5 V at 10 kHz that stands at a level from 0.30 to 0.36 s."""
    times = np.arange(10_000) / 10_000
    wave = np.where((times * 100) % 1.0 < 0.5, 5.0, 0.0)
    wave[(times >= 0.30) & (times < 0.36)] = lost_at
    return wave + np.random.default_rng(1).normal(0, 0.02, wave.size)


@pytest.mark.parametrize("level", [0.0, 2.5, 5.0])
def test_the_level_of_the_longest_loss_is_found(level: float) -> None:
    spans = [(0.10, 0.112), (0.30, 0.36)]
    assert level_while_lost(square(level), Clock(rate=10_000.0), spans, 5.0, 0.02) == pytest.approx(level, abs=0.02)


def test_uneven_samples_serve_too() -> None:
    times = np.arange(10_000) / 10_000 + 0.3e-4 * np.sin(np.arange(10_000))
    found = level_while_lost(square(2.5), Clock(times=times), [(0.30, 0.36)], 5.0, 0.02)
    assert found == pytest.approx(2.5, abs=0.02)


def test_a_signal_that_goes_on_switching_stands_at_no_level() -> None:
    assert level_while_lost(square(0.0), Clock(rate=10_000.0), [(0.5, 0.6)], 5.0, 0.02) is None


def test_nothing_lost_or_no_sample_gives_no_level() -> None:
    assert level_while_lost(square(0.0), Clock(rate=10_000.0), [], 5.0, 0.02) is None
    assert level_while_lost(square(0.0), Clock(rate=10_000.0), [(0.5, 0.50001)], 5.0, 0.02) is None
