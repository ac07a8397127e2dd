"""A warm-up trace fitted: where the thermostat starts to open, how much it leaks when shut, and how sure that is.

Until the valve opens, the trace is that of the equations with a shut valve, which leaks. From the moment it opens the
trace stays about one temperature, where the valve hunts; turn by turn no fit could follow that. So the opening is a
point of change: at every temperature that the trace went through it may have come, or not at all.

    log P(change at reading k) = log p(readings before k | shut valve) + log p(readings from k on | held) + prior

The shut valve's parameters are found by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963) on their posterior
for some of these points; as the innovations of a residual are independent, their partial sums give the posterior for
all the others. A Gaussian about its best point stands for the parameters (Tierney and Kadane 1986).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter
from scipy.special import ndtr

from proveout.diagnosis.warmup.drive import STEP, Drive
from proveout.diagnosis.warmup.equations import SENSOR_LAG, sensor_traces
from proveout.diagnosis.warmup.held import held_log_densities
from proveout.diagnosis.warmup.knee import knee_chances
from proveout.diagnosis.warmup.priors import HIGHEST, LEAKAGE, LOWEST, SHUT, opens_below, priors
from proveout.diagnosis.warmup.whitening import Whitening, whitening

__all__ = ["WarmUpFit", "fit_warm_up"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STRIDE = 5  # steps of the drive to one reading of the fit
WHITE = 0.35  # K: a display in whole degrees, 0.29, and the sensor's own noise
FIRST_DRIFT, DRIFTS = 1.0, (0.15, 0.25, 0.4, 0.7, 1.0, 1.5, 2.5)  # K
ANCHORS, ROUNDS = 8, 30
FIRST_DAMPING, LEAST_DAMPING, MOST_DAMPING, CALMER, WILDER = 0.03, 1e-6, 1e4, 5.0, 4.0
MOST_STEP = 1.5  # prior standard deviations in one round
SMALL = 1e-3  # prior standard deviations, for derivatives
SETTLED = 0.01  # of a log probability: too little to go on for
RATE_OVER, SPARSE = 60.0, 15.0  # s
LEAST_BEFORE = 4  # readings that a shut valve is judged by
WAX_LAG, WAX_LAG_ERROR = 15.0, 5.0  # s, from memory: 10 to 25
UNMODELLED = 0.5  # K: where in the housing wax and sensor sit, what the lumped equations leave out
MOST_LEAKAGE = 1.0
NEGLIGIBLE = 0.02  # probability of a point of change
QUANTILES, LEVELS = (0.025, 0.5, 0.975), 401


@dataclass(frozen=True)
class WarmUpFit:
    """What a warm-up trace says of the thermostat.

    Attributes
    ----------
    drive : Drive
    opening : (3,) float [K]
        2.5 %, 50 % and 97.5 % points of the temperature at which the valve starts to open.
    opening_levels : (level,) float [K]
        All points from 0 to 100 %, evenly.
    opening_error : float [K]
        Its standard uncertainty.
    reached : float
        Probability that the valve opened within the trace; where it did not, nothing but the highest temperature bounds
        the opening temperature.
    leakage, leakage_error : float
        Share of the full-open flow that passes the shut valve, and its standard uncertainty, not cut off at nothing.
    leakage_span : (3,) float
        The same points of the leakage, cut off at nothing.
    places, spread : (parameter,), (parameter, parameter) float
        Posterior mean and covariance of the shut valve's parameters, in prior standard deviations.
    drift : float [K]
        Standard deviation of what the equations leave out.
    times, readings, fitted : (reading,) float [s], [K], [K]
        The trace, and as the equations have it until the valve opens.
    """

    drive: Drive
    opening: Array
    opening_levels: Array
    opening_error: float
    reached: float
    leakage: float
    leakage_error: float
    leakage_span: Array
    places: Array
    spread: Array
    drift: float
    times: Array
    readings: Array
    fitted: Array


@dataclass(frozen=True)
class _Trace:
    """The readings that the fit compares: which of the averaged steps they are, and their values [K]."""

    drive: Drive
    kept: NDArray[np.bool_]
    values: Array

    @classmethod
    def of(cls, drive: Drive) -> _Trace:
        whole = drive.coolant.size // STRIDE * STRIDE
        blocks = drive.coolant[:whole].reshape(-1, STRIDE)
        kept = np.asarray(np.isfinite(blocks).any(axis=1), dtype=bool)
        return cls(drive, kept, np.asarray(np.nanmean(blocks[kept], axis=1)))

    @property
    def interval(self) -> float:
        """Usual time between two readings [s]."""
        return float(np.median(np.diff(self.times)))

    @property
    def times(self) -> Array:
        return np.asarray((np.flatnonzero(self.kept) + 0.5) * STRIDE * STEP, dtype=float)

    def residuals(self, places: Array) -> Array:
        """Return readings less the trace with the valve shut, (column, reading)."""
        model = sensor_traces(self.drive, priors().with_valve_shut(places), STRIDE)
        return self.values - model[:, self.kept]


@dataclass(frozen=True)
class _Linear:
    """The shut valve's residuals at places: themselves (reading,), whitened, whitened slopes (parameter, reading)."""

    places: Array
    residual: Array
    white: Array
    slopes: Array

    def cost(self, end: int) -> float:
        """Return minus the log posterior from the first `end` readings, constants apart."""
        return 0.5 * float(self.white[:end] @ self.white[:end] + self.places @ self.places)

    def step(self, end: int, damping: float) -> Array:
        """Return the damped step of the places."""
        slopes = self.slopes[:, :end]
        normal = slopes @ slopes.T + np.eye(self.places.size)
        pull = slopes @ self.white[:end] + self.places
        wanted = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -pull)
        return np.clip(wanted, -MOST_STEP, MOST_STEP)


@dataclass(frozen=True)
class _Posterior:
    """The shut valve's posterior from the readings before each of some points of change.

    `evidence` (point,) holds log p(readings before), `places` (point, parameter) and `spread` (point, parameter,
    parameter) the Gaussian about the best parameters.
    """

    evidence: Array
    places: Array
    spread: Array


@dataclass(frozen=True)
class _Changes:
    """Points of change: reading (point,) of each, coolant temperature there [K], its rate [K/s], prior probability.

    The last is that of a valve that never opened.
    """

    reading: Index
    temperature: Array
    rate: Array
    prior: Array

    @property
    def wax(self) -> Array:
        """Temperature of the wax [K]: behind the coolant by its lag times the rate, as the sensor is by its own."""
        return self.temperature + (SENSOR_LAG - WAX_LAG) * self.rate


def fit_warm_up(drive: Drive) -> WarmUpFit:
    """Fit a drive's coolant temperature.

    Raises
    ------
    InputError
        If the drive cannot be used; see `Drive`.
    """
    trace = _Trace.of(drive)
    changes = _changes(trace)
    held = held_log_densities(trace.values, changes.reading, changes.wax, WHITE, trace.interval)
    ends = np.unique(np.linspace(0, changes.reading.size - 1, ANCHORS).round().astype(np.intp))
    start, drift = _first(trace, int(changes.reading[0]))
    linears = [_descended(trace, start, int(changes.reading[end]), _whitening(trace, drift), ROUNDS) for end in ends]
    posteriors = [_partial_sums(linear, _whitening(trace, drift), changes.reading) for linear in linears]
    best = np.argmax([p.evidence for p in posteriors], axis=0)
    points = np.arange(changes.reading.size)
    evidence, places, spread = (
        np.stack([getattr(p, name) for p in posteriors])[best, points] for name in ("evidence", "places", "spread")
    )
    weight = evidence + held + np.log(changes.prior)
    chance = np.exp(weight - weight.max())
    chance /= chance.sum()
    top = int(chance.argmax())
    shut = _Posterior(evidence, places, spread)
    return _summed_up(trace, changes, shut, chance, drift, linears[best[top]])


def _whitening(trace: _Trace, drift: float) -> Whitening:
    return whitening(drift, WHITE, trace.interval)


def _changes(trace: _Trace) -> _Changes:
    """Return the points at which the valve may have opened: whenever the trace is hotter than ever before."""
    smooth = trace.values
    if trace.interval <= STRIDE * STEP:
        smooth = np.convolve(np.pad(smooth, 2, mode="edge"), np.full(5, 0.2), mode="valid")
    highest = np.maximum.accumulate(smooth)
    fresh = np.flatnonzero(np.diff(highest, prepend=-np.inf) > 0)
    fresh = fresh[(smooth[fresh] >= LOWEST) & (smooth[fresh] <= HIGHEST) & (fresh >= LEAST_BEFORE)]
    past = np.maximum(fresh - max(int(RATE_OVER / trace.interval), 1), 0)
    rate = (smooth[fresh] - smooth[past]) / (trace.times[fresh] - trace.times[past])
    top = float(np.clip(highest[-1], LOWEST, HIGHEST))
    edges = np.concatenate([smooth[fresh], [top, HIGHEST]])
    prior = np.maximum(np.diff(opens_below(edges)), 1e-12)
    return _Changes(
        np.append(fresh, smooth.size), np.append(smooth[fresh], top), np.append(np.maximum(rate, 0.0), 0.0), prior
    )


def _linearised(trace: _Trace, places: Array, filter_: Whitening) -> _Linear:
    moved = places + SMALL * np.vstack([np.zeros(places.size), np.eye(places.size)])
    residual = trace.residuals(moved)
    white = filter_.applied(residual)
    return _Linear(places, residual[0], white[0], (white[1:] - white[0]) / SMALL)


def _first(trace: _Trace, end: int) -> tuple[Array, float]:
    """Return the best parameters for the first `end` readings, and the drift that their residuals show."""
    places, drift = np.zeros(len(SHUT)), FIRST_DRIFT
    for _ in range(2):
        linear = _descended(trace, places, end, _whitening(trace, drift), ROUNDS)
        places = linear.places
        drift = max(DRIFTS, key=lambda d: _whitening(trace, d).log_density(linear.residual[:end]))
    return places, drift


def _descended(trace: _Trace, places: Array, end: int, filter_: Whitening, rounds: int) -> _Linear:
    here, damping = _linearised(trace, places, filter_), FIRST_DAMPING
    for _ in range(rounds):
        trial = _linearised(trace, here.places + here.step(end, damping), filter_)
        gained = here.cost(end) - trial.cost(end)
        here = trial if gained > 0 else here
        damping = min(max(damping / CALMER if gained > 0 else damping * WILDER, LEAST_DAMPING), MOST_DAMPING)
        if 0 <= gained < SETTLED:
            break
    return here


def _partial_sums(linear: _Linear, filter_: Whitening, readings: Index) -> _Posterior:
    """Return the posterior from the readings before each point, by one Gauss-Newton step from where `linear` stands."""
    outer = np.einsum("kr,lr->rkl", linear.slopes, linear.slopes)
    normal = np.cumsum(outer, axis=0)[readings - 1] + np.eye(linear.places.size)
    pull = np.cumsum(linear.slopes * linear.white, axis=1)[:, readings - 1].T + linear.places
    spread = np.linalg.inv(normal)
    step = -np.einsum("pkl,pl->pk", spread, pull)
    squares = 0.5 * (np.cumsum(linear.white**2)[readings - 1] + linear.places @ linear.places)
    cost = squares + 0.5 * np.einsum("pk,pk->p", pull, step)
    evidence = -cost - readings * filter_.log_norm + 0.5 * np.linalg.slogdet(spread)[1]
    return _Posterior(evidence, linear.places + step, np.asarray(spread, dtype=float))


def _summed_up(
    trace: _Trace, changes: _Changes, shut: _Posterior, chance: Array, drift: float, linear: _Linear
) -> WarmUpFit:
    leak, width = priors().middle[LEAKAGE], priors().spread[LEAKAGE]
    slot = SHUT.index("leakage")
    middle, error = leak + width * shut.places[:, slot], width * np.sqrt(shut.spread[:, slot, slot])
    mean = float(chance @ middle)
    top = int(chance.argmax())
    levels, opening_error = _opening(trace, changes, chance, linear.residual)
    return WarmUpFit(
        drive=trace.drive,
        opening=np.interp(QUANTILES, np.linspace(0.0, 1.0, LEVELS), levels),
        opening_levels=levels,
        opening_error=opening_error,
        reached=float(1.0 - chance[-1]),
        leakage=mean,
        leakage_error=float(np.sqrt(chance @ (error**2 + (middle - mean) ** 2))),
        leakage_span=_leakage_span(middle, error, chance),
        places=shut.places[top],
        spread=shut.spread[top],
        drift=drift,
        times=trace.times,
        readings=trace.values,
        fitted=trace.values - linear.residual,
    )


def _opening(trace: _Trace, changes: _Changes, chance: Array, residual: Array) -> tuple[Array, float]:
    """Return all points of the opening temperature [K], from 0 to 100 % evenly, and its standard uncertainty.

    A valve that never opened opens anywhere from the highest temperature on.
    """
    kelvin = np.linspace(LOWEST - 5.0, HIGHEST, 2401)
    top, never = changes.temperature[-1], chance[-1]
    past = opens_below(np.array([top, HIGHEST]))
    below = never * np.clip((opens_below(kelvin) - past[0]) / max(past[1] - past[0], 1e-12), 0.0, 1.0)
    likely = np.flatnonzero(chance[:-1] > NEGLIGIBLE)
    share = (1.0 - never) / max(float(chance[likely].sum()), 1e-300)
    for k in likely:
        knees, weight = knee_chances(trace.times, residual, int(changes.reading[k]))
        wax, apart = _wax_at(trace, knees)
        below += share * chance[k] * (ndtr((kelvin[:, None] - wax) / apart) * weight).sum(axis=1)
    density, centre = np.diff(below), 0.5 * (kelvin[1:] + kelvin[:-1])
    mean = float(density @ centre / density.sum())
    error = float(np.sqrt(density @ (centre - mean) ** 2 / density.sum()))
    rising = below / below[-1] + 1e-12 * np.arange(below.size)
    return np.interp(np.linspace(0.0, 1.0, LEVELS), rising, kelvin), error


def _wax_at(trace: _Trace, times: Array) -> tuple[Array, Array]:
    """Return the wax's temperature at some times, (time,) [K], and its standard uncertainty.

    The coolant seen through the lag of the wax, where the sensor has seen it through its own: in between is
    (1 + t_s d/dt) / (1 + t_w d/dt).
    """
    even = np.arange(trace.times[0], trace.times[-1] + STEP, STEP)
    sensor = np.interp(even, trace.times, trace.values)
    keep = np.exp(-STEP / WAX_LAG)
    slow, _ = lfilter([1.0 - keep], [1.0, -keep], sensor, zi=[keep * sensor[0]])
    quick = SENSOR_LAG / WAX_LAG
    wax = quick * sensor + (1.0 - quick) * np.asarray(slow)
    now, waxed = np.interp(times, even, sensor), np.interp(times, even, wax)
    by_lag = np.abs(now - waxed) * WAX_LAG_ERROR / (WAX_LAG - SENSOR_LAG)
    # Between readings that are far apart the knee may be anywhere.
    rise = np.abs(np.diff(trace.values, append=trace.values[-1])) / np.sqrt(12.0)
    between = np.interp(times, trace.times, np.where(np.diff(trace.times, append=np.inf) > SPARSE, rise, 0.0))
    return waxed, np.sqrt(UNMODELLED**2 + by_lag**2 + between**2)


def _leakage_span(middle: Array, error: Array, chance: Array) -> Array:
    shares = np.linspace(0.0, MOST_LEAKAGE, 2001)
    under = ndtr((shares[:, None] - middle) / error)
    nothing, all_of_it = ndtr((0.0 - middle) / error), ndtr((MOST_LEAKAGE - middle) / error)
    inside = chance * (all_of_it - nothing)
    below = ((under - nothing) * chance).sum(axis=1) / inside.sum()
    return np.interp(QUANTILES, below, shares)
