"""What is known of an engine before its warm-up trace is seen, from a data file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np
import yaml
from numpy.typing import NDArray
from scipy.special import ndtr

from proveout.diagnosis.warmup.equations import NAMES

__all__ = ["HIGHEST", "LEAKAGE", "LOWEST", "SHUT", "Priors", "opens_below", "priors"]

Array = NDArray[np.float64]

SHUT = NAMES[: NAMES.index("opening")]
"""Parameters that act while the valve is shut."""
LEAKAGE = NAMES.index("leakage")
LOWEST, HIGHEST = 333.0, 388.0  # K, between which a thermostat of any make opens
USUAL, USUAL_SPREAD = 361.0, 5.0  # K, common practice: rated 180 to 195 F, 82 to 91 C
ANY = 0.3  # share of thermostats that open anywhere, the bad ones among them: our choice


@dataclass(frozen=True)
class Priors:
    """Middle and spread of each parameter in the order of `NAMES`; of the logarithm where `logarithmic`."""

    middle: Array
    spread: Array
    logarithmic: NDArray[np.bool_]

    def physical(self, places: Array) -> Array:
        """Return parameter values of places in prior standard deviations, (..., parameter); the rest at its middle."""
        whole = np.zeros((*places.shape[:-1], len(NAMES)))
        whole[..., : places.shape[-1]] = places
        away = whole * self.spread
        grown = self.middle * np.exp(np.where(self.logarithmic, away, 0.0))
        return np.where(self.logarithmic, grown, self.middle + away)

    def with_valve_shut(self, places: Array) -> Array:
        """Return the same with a valve that never opens."""
        values = self.physical(places)
        values[..., NAMES.index("opening")] = np.inf
        return values


@lru_cache(maxsize=1)
def priors() -> Priors:
    """Return the priors as the data file has them."""
    text = resources.files("proveout.diagnosis.warmup").joinpath("priors.yaml").read_text("utf-8")
    table: Mapping[str, Mapping[str, object]] = yaml.safe_load(text)
    entries = [table[name] for name in NAMES]
    return Priors(
        np.array([float(str(e["value"])) for e in entries]),
        np.array([float(str(e["spread"])) for e in entries]),
        np.array([not e.get("absolute", False) for e in entries]),
    )


def opens_below(temperature: Array) -> Array:
    """Return the prior probability that a thermostat starts to open below a temperature [K], (...)."""
    anywhere = np.clip((temperature - LOWEST) / (HIGHEST - LOWEST), 0.0, 1.0)
    return ANY * anywhere + (1.0 - ANY) * np.asarray(ndtr((temperature - USUAL) / USUAL_SPREAD))
