"""What kind of signal a channel shows, with a probability and the figures that speak for it.

Each kind has usual values of a few figures (`kinds.yaml`); a figure speaks for a kind by a Student t of four degrees of
freedom about its usual value. Figures are not independent, so their sum counts by six tenths.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import yaml

from proveout.captures.analysis.features import Features
from proveout.captures.analysis.levels import Levels

__all__ = ["LEAST_SAMPLES_A_PERIOD", "KindOfSignal", "dead", "kind_of", "titles"]

LEAST_SAMPLES_A_PERIOD = 3.5
"""Samples in a short period (a tooth and its gap) below which times of edges, and so speeds, are not to be trusted."""

_DECIDED = 0.8
_FEWEST_EDGES = 16
_DEGREES = 4.0
_SHARED = 0.6
_BASE_WIDTH = 45e-6

_SAID = {
    "offset": "mean over swing",
    "resting": "share at rest",
    "irregularity": "change from period to period",
    "growth": "growth of the amplitude with speed",
    "width_growth": "growth of the pulse length with the period",
    "ratio": "high over low level",
    "code": "octaves from a pulse length of 45, 90, 180 µs ...",
    "crossing": "edges per sample and period",
}


@dataclass(frozen=True)
class KindOfSignal:
    """What a channel shows.

    Attributes
    ----------
    kind : str or None
        One of the kinds of `kinds.yaml`, or `dead`; None when it cannot be decided.
    probability : float
        Of the likeliest kind, 0 to 1.
    ranking : tuple of (str, float)
        Kinds with their probabilities, likeliest first.
    evidence : tuple of str
        Figures that speak most for the likeliest kind against the next, strongest first.
    reason : str
        Why it is not decided, or what stays open; empty otherwise.
    undersampled : bool
        Whether there are too few samples a tooth to time edges by.
    """

    kind: str | None
    probability: float
    ranking: tuple[tuple[str, float], ...]
    evidence: tuple[str, ...]
    reason: str = ""
    undersampled: bool = False


@cache
def _kinds() -> Mapping[str, Mapping[str, Any]]:
    return yaml.safe_load(resources.files(__package__).joinpath("kinds.yaml").read_text("utf-8"))


def titles() -> dict[str, str]:
    """Return what each kind is called in a sentence."""
    return {name: entry["title"] for name, entry in _kinds().items()} | {"dead": "dead (no change)"}


def dead(unit: str, levels: Levels) -> KindOfSignal | None:
    """Return that a channel is dead if it never leaves two steps of the recorder, and None otherwise."""
    span = levels.extent.greatest - levels.extent.least
    if span > 2 * levels.resolution and span > 1e-6 * abs(levels.extent.mean):
        return None
    text = f"all samples lie within {span:.3g} {unit or 'units'}"
    return KindOfSignal("dead", 1.0, (("dead", 1.0),), (text,))


def kind_of(unit: str, levels: Levels, found: Features) -> KindOfSignal:
    """Return the kind of signal of a channel that is not dead.

    Parameters
    ----------
    unit : str
        SI unit of the samples, empty when unknown.
    levels : Levels
    found : Features
    """
    figures = _figures(levels, found)
    logs = {name: _log_weight(entry, unit, figures) for name, entry in _kinds().items()}
    top = max(logs.values())
    total = sum(math.exp(value - top) for value in logs.values())
    ranking = sorted(((name, math.exp(value - top) / total) for name, value in logs.items()), key=lambda row: -row[1])
    (best, probability), (second, _) = ranking[:2]
    undersampled = found.edges >= _FEWEST_EDGES and found.samples_a_period < LEAST_SAMPLES_A_PERIOD
    sure = probability >= _DECIDED
    reasons = []
    if not sure:
        reasons.append(f"{best} ({probability:.0%}) and {second} ({ranking[1][1]:.0%}) both fit")
    if undersampled:
        reasons.append(
            f"only {found.samples_a_period:.1f} samples a tooth where it is fastest: record at a higher rate; "
            "no speed is given"
        )
    return KindOfSignal(
        best if sure else None,
        probability,
        tuple(ranking),
        _speaking(figures, best, second),
        "; ".join(reasons),
        undersampled,
    )


def _figures(levels: Levels, found: Features) -> dict[str, float]:
    """Return the figures as they are compared, those alone that are known."""
    octaves = math.log2(found.width / _BASE_WIDTH) if found.width > 0 else math.nan
    values = {
        "offset": abs(found.offset),
        "resting": found.resting,
        "irregularity": math.log10(max(found.irregularity, 1e-4)) if found.irregularity >= 0 else math.nan,
        "growth": found.growth if found.growth_error < 0.1 else math.nan,
        "width_growth": found.width_growth if found.width_growth_error < 0.1 else math.nan,
        "ratio": math.log10(found.level_ratio) if found.level_ratio > 0 else 3.0 if levels.low <= 0 else math.nan,
        "code": max(abs(octaves - round(octaves)), -octaves, octaves - 5, 0.0)
        if found.width_spread < 0.02
        else math.nan,
        "crossing": math.log10(found.edges / _expected_edges(levels, found)) if found.edges else -4.0,
    }
    return {name: value for name, value in values.items() if math.isfinite(value)}


def _expected_edges(levels: Levels, found: Features) -> float:
    """Return how many edges there would be if the whole record ran at its shortest period."""
    if not math.isfinite(found.samples_a_period):
        return max(found.edges, 1000.0)
    return max(2 * levels.extent.usable / max(found.samples_a_period, 1.0), 1.0)


def _log_weight(entry: Mapping[str, Any], unit: str, figures: Mapping[str, float]) -> float:
    parts = [_log_density(figures[name], usual) for name, usual in entry["figures"].items() if name in figures]
    missing = [name for name in figures if name not in entry["figures"]]
    return math.log(entry["units"].get(unit, 0.02)) + _SHARED * (sum(parts) + sum(_broad(name) for name in missing))


def _log_density(value: float, usual: Sequence[Any]) -> float:
    """Return the log density of a figure about its usual value, or about several of equal weight."""
    pairs = usual if isinstance(usual[0], list) else [usual]
    logs = [_log_t(value, centre, spread) for centre, spread in pairs]
    top = max(logs)
    return top + math.log(sum(math.exp(log - top) for log in logs) / len(logs))


def _log_t(value: float, centre: float, spread: float) -> float:
    away = (value - centre) / spread
    return -math.log(spread) - (_DEGREES + 1) / 2 * math.log1p(away * away / _DEGREES)


def _broad(name: str) -> float:
    """Return the density of a figure of which a kind says nothing: flat over its usual range."""
    return -math.log(
        {"offset": 3.0, "resting": 1.0, "irregularity": 3.0, "growth": 2.0, "crossing": 4.0, "code": 0.5}.get(name, 2.0)
    )


def _speaking(figures: Mapping[str, float], best: str, second: str) -> tuple[str, ...]:
    def gain(name: str) -> float:
        usual = [_kinds()[kind]["figures"].get(name) for kind in (best, second)]
        logs = [_log_density(figures[name], row) if row else _broad(name) for row in usual]
        return logs[0] - logs[1]

    ordered = sorted(figures, key=gain, reverse=True)
    return tuple(f"{_SAID[name]} {_shown(name, figures[name])}" for name in ordered if gain(name) > 0.5)[:3]


def _shown(name: str, value: float) -> str:
    return f"{10**value:.3g}" if name in ("irregularity", "ratio", "crossing") else f"{value:.3g}"
