"""Recordings as files, made of signals whose truth is known."""

from __future__ import annotations

import numpy as np

from captures.synthetic import HALL, cranking, missing_teeth, record

__all__ = ["RATE", "crank_csv"]

RATE = 20_000
SEED = 20_261_125


def crank_csv(lost: int, turns: float = 6.0) -> str:
    """Return a crank sensor on a 60-2 wheel while cranking, with some teeth lost, as a scope writes it."""
    signal = record(
        missing_teeth(60, 2),
        cranking(200, turns, ripple=0.3),
        HALL,
        np.random.default_rng(SEED + lost),
        rate=RATE,
        noise_db=26,
        lost=lost,
    )
    rows = "".join(f"{k / RATE:.5f},{volt:.3f}\n" for k, volt in enumerate(signal.samples))
    return "Time [s],Crank [V]\n" + rows
