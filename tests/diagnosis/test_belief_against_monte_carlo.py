"""The belief against brute-force Monte Carlo: a divider worked out by hand, severities and tolerances drawn.

A million vehicles are drawn from the prior and weighted by the exact likelihood of the readings: each is Gaussian with
the instrument's variance, or a slip. The battery's voltage is integrated in closed form, since every reading is in
proportion to it; that leaves less to chance. Readings share all tolerances, so a filter that counted a tolerance anew
at each reading would be too sure. The error of the Monte Carlo itself is computed from its weights.
"""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np
import numpy.typing as npt
import pytest

from diagnosis.divider import BATTERY, MODES, NO_FAULT, TOLERANCES, UNKNOWN, Divider, model, vehicles
from proveout.diagnosis import Belief, ReadingTaken
from proveout.diagnosis.belief import SLIP
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE
from proveout.diagnosis.likelihood import reading_variance
from proveout.instruments import Function, Reading, default_meter

Values = npt.NDArray[np.float64]
DRAWN = 1_000_000
SEED = 4
WITHIN = 0.02  # of a probability, the error of the Monte Carlo apart: linearisation and severity cells
MOST_ERROR = 0.015  # standard error of the Monte Carlo: 0.013 for the weak pull-up, below 0.002 for the others
SUSPECTS = {"pull_up": "unit", "wire": "wire", "terminal": "terminal", "sensor": "sensor", "": NO_FAULT_NOW}

CASES = {
    "corroded terminal": ("terminal.resistive", 300.0, (0.5, -1.0, 0.8)),
    "weak pull-up": ("pull_up.high", 1.25, (-1.0, 0.3, -0.5)),
    "sensor a little low": ("sensor.low", 0.8, (1.0, 1.0, -1.0)),
    "sound at the edge of its tolerances": ("", 1.0, (1.5, 1.5, -1.5)),
}
READINGS = ("at_unit", "at_pin", "feed", "at_harness")


@cache
def population() -> tuple[list[str], npt.NDArray[np.intp], Divider]:
    """Drawn vehicles: names of the faults (the last one none), number of each vehicle's fault, and the vehicles."""
    rng = np.random.default_rng(SEED)
    names = [*MODES, ""]
    weight = np.array([*(w for _, _, w in MODES.values()), NO_FAULT * sum(w for _, _, w in MODES.values())])
    number = rng.choice(len(names), DRAWN, p=weight / weight.sum())
    spread = tuple(rng.standard_normal(DRAWN) for _ in range(3))
    parts = []
    for k, name in enumerate(names):
        chosen = number == k
        low, high, _ = MODES.get(name, (1.0, 1.0, 0.0))
        severity = np.exp(rng.uniform(np.log(low), np.log(high), int(chosen.sum())))
        parts.append((chosen, vehicles(name, severity, (spread[0][chosen], spread[1][chosen], spread[2][chosen]))))
    whole = {field: np.empty(DRAWN) for field in ("battery", "pull_up", "line", "terminal", "sensor")}
    for chosen, some in parts:
        for field, values in whole.items():
            values[chosen] = getattr(some, field)
    return names, number, Divider(**whole)


def taken(case: str) -> list[tuple[str, Reading]]:
    """What an instrument without error of its own shows of one vehicle."""
    fault, severity, spread = CASES[case]
    one = vehicles(fault, np.array([severity]), tuple(np.array([z]) for z in spread))  # type: ignore[arg-type]
    return [(name, default_meter().read(Function.VOLTS_DC, float(one.volts(name)[0]))) for name in READINGS]


def likelihood(readings: list[tuple[str, Reading]]) -> tuple[Values, float]:
    """Likelihood of the readings for every drawn vehicle, the battery integrated out, and for 'none of these'."""
    _, _, drawn = population()
    meter, spread = default_meter(), 0.5 * TOLERANCES["battery"] * BATTERY
    share = [drawn.volts(name) / drawn.battery for name, _ in readings]
    away = [float(r.value or 0.0) - BATTERY * f for (_, r), f in zip(readings, share, strict=True)]
    variance = [reading_variance(meter, Function.VOLTS_DC, float(r.value or 0.0), r.resolution) for _, r in readings]
    broad = [float(np.exp(meter.broad_log_density(Function.VOLTS_DC, r))) for _, r in readings]
    total = np.zeros(DRAWN)
    for slips in product((False, True), repeat=len(readings)):
        weight, a, b, c = 1.0, np.zeros(DRAWN), np.zeros(DRAWN), np.zeros(DRAWN)
        for slip, f, d, v, anything in zip(slips, share, away, variance, broad, strict=True):
            if slip:
                weight *= SLIP * anything
                continue
            weight *= (1.0 - SLIP) / np.sqrt(2.0 * np.pi * v)
            a, b, c = a + f**2 / v, b + f * d / v, c + d**2 / v
        # Sherman and Morrison: the covariance is diag(v) + spread^2 f f'.
        grown = 1.0 + spread**2 * a
        total += weight * np.exp(-0.5 * (c - spread**2 * b**2 / grown)) / np.sqrt(grown)
    return total, float(np.prod(broad))


def by_monte_carlo(readings: list[tuple[str, Reading]]) -> tuple[dict[str, float], dict[str, float]]:
    """Probability of each suspect after the readings, and its standard error."""
    names, number, _ = population()
    drawn, anything = likelihood(readings)
    known = (1.0 + NO_FAULT) / (1.0 + NO_FAULT + UNKNOWN)
    weight = drawn * known / DRAWN
    unknown = anything * (1.0 - known)
    total = weight.sum() + unknown
    chances, errors = {NONE_OF_THESE: unknown / total}, {NONE_OF_THESE: 0.0}
    for suspect in set(SUSPECTS.values()):
        mine = np.isin(number, [k for k, n in enumerate(names) if SUSPECTS[n.partition(".")[0]] == suspect])
        chances[suspect] = p = float(weight[mine].sum() / total)
        errors[suspect] = float(np.sqrt(np.sum((weight * (mine - p)) ** 2)) / total)
    return chances, errors


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_probabilities_are_those_of_a_million_drawn_vehicles(case: str, count: int) -> None:
    readings = taken(case)[:count]
    belief = Belief.start(model())
    for name, reading in readings:
        belief = belief.after(ReadingTaken(name, reading))
    chances, errors = by_monte_carlo(readings)
    for suspect, chance in chances.items():
        assert belief.probability(suspect) == pytest.approx(chance, abs=WITHIN + 4.0 * errors[suspect]), suspect


def test_the_error_of_the_monte_carlo_is_small_beside_what_is_allowed() -> None:
    for case in CASES:
        _, errors = by_monte_carlo(taken(case))
        assert max(errors.values()) < MOST_ERROR, case


def test_a_tolerance_that_readings_share_is_counted_once() -> None:
    # The battery is 2 V off its file; four readings say so in one voice and must not add up to a fault.
    names = ("feed", "at_unit", "at_harness", "at_pin")
    one = vehicles("", np.array([1.0]), (np.array([3.0]), np.array([0.0]), np.array([0.0])))
    belief = Belief.start(model())
    seen = []
    for name in names:
        reading = default_meter().read(Function.VOLTS_DC, float(one.volts(name)[0]))
        belief = belief.after(ReadingTaken(name, reading))
        seen.append(belief.probability(NO_FAULT_NOW))
    chances, errors = by_monte_carlo(
        [(n, default_meter().read(Function.VOLTS_DC, float(one.volts(n)[0]))) for n in names]
    )
    assert seen[-1] == pytest.approx(chances[NO_FAULT_NOW], abs=WITHIN + 4.0 * errors[NO_FAULT_NOW])
    assert seen[-1] > 0.5
