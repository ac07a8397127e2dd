"""What each cylinder contributes, from the ripple of the crank's speed or of the battery's current or voltage.

Kinetic energy ``K = J w^2 / 2`` changes with the torque: over the crank angle a, ``dK/da + beta K' = T(a)``, where beta
stands for a starter or load that pulls the speed back. With one torque shape g for every cylinder and amplitudes A[c]
in firing order, harmonic h of the cycle (order h/2 per turn) is

    K[h] = S g[h] / (i h/2 + beta) exp(-i h a0 / 2) sum_c A[c] exp(-2 pi i h c / N)

(own derivation). Harmonics that are multiples of N are the same whatever the cylinders share; they give the scale S,
the angle a0 of the dead centre and beta. The others give the differences. A starter's current falls with the speed from
what it takes at rest (``I = (U - k w) / R``), and a battery's voltage rises as the current falls, so the square of how
far they are from their value at rest stands for the energy, without any tooth (`starter_energy`).

Integer orders of the speed (even h) are confounded with the spacing of the teeth: they count only as much as the teeth
are known. Cylinders that fire one crank turn apart are compared over the same teeth, by odd h alone, and that
comparison is free of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares, lsq_linear

from proveout.captures.analysis.cycle_harmonics import CycleHarmonics
from proveout.captures.analysis.gas_torque import combustion_harmonics, compression_harmonics, inertia_harmonics
from proveout.errors import InputError

__all__ = ["CylinderBalance", "cylinder_balance", "firing_count", "named_cylinders", "starter_energy"]

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
COMMON = 3
"""Multiples of the firing order that scale, dead centre and damping are taken from."""
SHAPE, SHAPE_RUNNING = 0.25, 0.4
"""Relative standard uncertainty of the torque's shape, cranking and running: valve timing, compression ratio and rod
are not known, a leaking cylinder gives back less than it took, and how much of the ripple of a running engine is
combustion and how much compression is told only roughly."""
FLOOR = 0.02
"""Standard uncertainty of any share that remains: the torque's shape differs a little from cylinder to cylinder."""
UNKNOWN_START = "in firing order from an unknown cylinder: without a cam signal nothing says which turn is which"
LEAST_DAMPING, MOST_DAMPING = 0.03, 2.0
"""Most damping of a running engine, which nothing but friction holds, and of one on its starter [1/rad]."""
LOOSE = 1.0
"""Standard deviation of a cylinder's share before anything is seen, relative to the mean."""


@dataclass(frozen=True)
class CylinderBalance:
    """Shares of the cylinders in firing order, from an unknown one unless the cam says which.

    Attributes
    ----------
    relative : (cylinder,) float64
        Share of each, the strongest being 1.
    uncertainty : (cylinder,) float64
        Standard uncertainty of `relative`.
    pairs : tuple of (int, int, float, float)
        Cylinders that fire one crank turn apart (indices), how much more the first has than the second (relative to the
        mean), and the standard uncertainty of that; free of the teeth's errors.
    dead_centre : float
        Angle of the first cylinder's firing dead centre after the start of turn 0 [turns, 0 to 2 / cylinders].
    damping : float
        beta [1/rad].
    misfit : float
        Relative size of what the common harmonics do not fit: above 0.3 the shape or the number of cylinders is wrong.
    cycles : int
    reason : str
        What stays open.
    """

    relative: Array
    uncertainty: Array
    pairs: tuple[tuple[int, int, float, float], ...]
    dead_centre: float
    damping: float
    misfit: float
    cycles: int
    reason: str


def firing_count(harmonics: CycleHarmonics, known: tuple[int, ...] = (2, 3, 4, 5, 6, 8)) -> tuple[int | None, float]:
    """Return the number of cylinders that the ripple points to (None: not clear) and its share of the ripple's power.

    The firing order carries most of the ripple of even cylinders: the number whose first harmonic does.
    """
    power = np.abs(harmonics.mean) ** 2
    total = float(power.sum())
    usable = [n for n in known if n <= power.size]
    if total <= 0.0 or not usable:
        return None, 0.0
    best = max(usable, key=lambda n: float(power[n - 1]))
    share = float(power[best - 1]) / total
    clear = share > 0.4 and power[best - 1] > 9.0 * harmonics.uncertainty[best - 1] ** 2
    return (best if clear else None), share


def starter_energy(values: Array, at_rest: float) -> Array:
    """Return what stands for the energy of the shaft while a starter turns it, in any unit.

    Parameters
    ----------
    values : (k,) float
        Current of the starter or the battery, or the battery's voltage.
    at_rest : float
        The same with the starter standing: the peak of the in-rush, or the lowest voltage then. Where the capture does
        not show it, three times the mean current is a guess (common practice: 2 to 4).
    """
    return (values - at_rest) ** 2


def cylinder_balance(
    harmonics: CycleHarmonics,
    cylinders: int,
    *,
    running: bool = False,
    tooth_error: float = 0.0,
) -> CylinderBalance:
    """Return the shares of the cylinders of an evenly firing four-stroke engine.

    Parameters
    ----------
    harmonics : CycleHarmonics
        Of the square of the speed, or of `starter_energy` while cranking, over the crank angle; up to three times the
        number of cylinders.
    cylinders : int
    running : bool, optional
        Whether the engine runs: then the share is of combustion, while cranking it is of compression.
    tooth_error : float, optional
        Relative error of the speed in each whole order per turn that the teeth may make (standard deviation); infinite
        when nothing is known of them, 0 for a current or voltage, which no tooth has measured.

    Raises
    ------
    InputError
        If there are fewer than two cylinders or too few harmonics.
    """
    most = COMMON * cylinders
    if cylinders < 2 or harmonics.mean.size < most:
        raise InputError(
            f"{harmonics.mean.size} harmonics are too few for {cylinders} cylinders: give {most}, for two or more"
        )
    seen, spread = harmonics.mean[:most], harmonics.uncertainty[:most].copy()
    # A relative error of the speed makes twice that of its square. Whole orders are the even harmonics.
    error = min(2.0 * abs(harmonics.level) * tooth_error, 1e6 * float(np.abs(seen).max()))
    spread[1::2] = np.hypot(spread[1::2], error)
    shape = combustion_harmonics(most) if running else compression_harmonics(most)
    others = (compression_harmonics(most), inertia_harmonics(most)) if running else ()
    common = _common(seen, shape, others, cylinders, LEAST_DAMPING if running else MOST_DAMPING)
    spread = np.hypot(spread, (SHAPE_RUNNING if running else SHAPE) * np.abs(seen))
    shares, covariance = _shares(seen, spread, common, shape, cylinders)
    return _balance(shares, covariance, common, harmonics.cycles, cylinders)


@dataclass(frozen=True)
class _Common:
    scale: float
    dead_centre: float
    damping: float
    misfit: float


def _response(shape: Complex, dead_centre: float, damping: float) -> Complex:
    """Return the harmonics of the signal for one cylinder of that shape, its dead centre at that angle [turns]."""
    order = np.arange(1, shape.size + 1)
    return shape / (0.5j * order + damping) * np.exp(-1j * np.pi * order * dead_centre)


def _common(seen: Complex, shape: Complex, others: tuple[Complex, ...], cylinders: int, most_damping: float) -> _Common:
    """Fit scale, dead centre and damping to the harmonics that all cylinders share."""
    index = np.arange(cylinders, seen.size + 1, cylinders) - 1
    goal = seen[index]
    size = float(np.linalg.norm(goal))

    least = np.array([0.0, 0.0, -np.inf])  # the pull of a vacuum in the manifold looks like inertia of either sign

    def fitted(dead_centre: float, damping: float) -> tuple[Array, Complex]:
        columns = np.stack([cylinders * _response(s, dead_centre, damping)[index] for s in (shape, *others)], axis=1)
        real, wanted = np.vstack([columns.real, columns.imag]), np.concatenate([goal.real, goal.imag])
        scale = lsq_linear(real, wanted, bounds=(least[: real.shape[1]], np.inf)).x
        return scale, goal - columns @ scale

    def rest(place: Array) -> Array:
        left = fitted(float(place[0]), float(np.exp(place[1])))[1]
        return np.concatenate([left.real, left.imag]) / max(size, 1e-300)

    period = 2.0 / cylinders
    starts = [
        (np.array([d, np.log(b)]))
        for d in period * np.arange(12) / 12
        for b in (0.02, 0.2)
        if b < most_damping or b < 0.1
    ]
    start = min(starts, key=lambda s: float(np.sum(rest(s) ** 2)))
    found = least_squares(rest, start, bounds=([-period, np.log(1e-3)], [2.0 * period, np.log(most_damping)]))
    dead, damping = float(found.x[0]) % period, float(np.exp(found.x[1]))
    scale, left = fitted(dead, damping)
    return _Common(float(scale[0]), dead, damping, float(np.linalg.norm(left)) / max(size, 1e-300))


def _shares(seen: Complex, spread: Array, common: _Common, shape: Complex, cylinders: int) -> tuple[Array, Array]:
    """Return the cylinders' shares (mean 1) and their covariance, by weighted least squares on the other harmonics."""
    order = np.arange(1, 2 * cylinders + 1)
    order = order[order % cylinders != 0]
    response = common.scale * _response(shape, common.dead_centre, common.damping)[order - 1]
    wave = np.exp(-2j * np.pi * np.outer(order, np.arange(cylinders)) / cylinders)
    columns = response[:, None] * wave
    unsure = spread[order - 1] + 1e-12 * np.abs(response).max()
    real = np.vstack([columns.real / unsure[:, None], columns.imag / unsure[:, None]])
    wanted = np.concatenate([seen[order - 1].real / unsure, seen[order - 1].imag / unsure])
    # Shares about a mean of 1, each loosely near it, so that what no harmonic shows stays open and not wild.
    project = np.eye(cylinders) - 1.0 / cylinders
    normal = project @ (real.T @ real) @ project + np.eye(cylinders) / LOOSE**2
    covariance = project @ np.linalg.inv(normal) @ project
    return 1.0 + covariance @ (real.T @ wanted), covariance


def named_cylinders(
    balance: CylinderBalance, firing_order: tuple[int, ...], first_dead_centre: float
) -> tuple[tuple[int, float, float], ...]:
    """Return (cylinder, share, standard uncertainty) by the firing order, where it is known which turn is which.

    Parameters
    ----------
    balance : CylinderBalance
    firing_order : tuple of int
        Such as (1, 3, 4, 2).
    first_dead_centre : float
        Firing dead centre of the first cylinder named, within the cycle of the balance [turns, 0 to 2]: from the cam.

    Raises
    ------
    InputError
        If the firing order has another number of cylinders.
    """
    count = balance.relative.size
    if len(firing_order) != count:
        raise InputError(f"firing order {firing_order} has {len(firing_order)} cylinders; the ripple has {count}")
    step = 2.0 / count
    first = round((first_dead_centre - balance.dead_centre) / step)
    return tuple(
        (name, float(balance.relative[(first + k) % count]), float(balance.uncertainty[(first + k) % count]))
        for k, name in enumerate(firing_order)
    )


def _balance(shares: Array, covariance: Array, common: _Common, cycles: int, cylinders: int) -> CylinderBalance:
    best = float(shares.max())
    pairs = []
    if cylinders % 2 == 0:
        half = cylinders // 2
        for c in range(half):
            variance = covariance[c, c] + covariance[c + half, c + half] - 2.0 * covariance[c, c + half]
            pairs.append(
                (c, c + half, float(shares[c] - shares[c + half]), float(np.sqrt(max(variance, 0.0) + FLOOR**2)))
            )
    spread = np.hypot(np.sqrt(np.maximum(np.diag(covariance), 0.0)), FLOOR)
    return CylinderBalance(
        shares / best,
        spread / best,
        tuple(pairs),
        common.dead_centre,
        common.damping,
        common.misfit,
        cycles,
        UNKNOWN_START,
    )
