"""Standard on-board parameters (SAE J1979), and how the columns of a log are recognised as such."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import yaml

__all__ = ["Parameter", "parameter_of", "parameters"]


@dataclass(frozen=True)
class Parameter:
    """One parameter of the standard.

    Attributes
    ----------
    name, title, identifier : str
    unit : str
        Symbol of the unit of its values here: SI, °C for temperatures, % and rpm as the trade reads them.
    low, high : float
        What the standard's field can carry, in that unit.
    words : tuple of tuples of str
        A column is this parameter when its name holds all words of one of them.
    """

    name: str
    title: str
    identifier: str
    unit: str
    low: float
    high: float
    words: tuple[tuple[str, ...], ...]


@lru_cache(maxsize=1)
def parameters() -> Mapping[str, Parameter]:
    """Return the known parameters by name."""
    text = resources.files("proveout.scan").joinpath("parameters.yaml").read_text("utf-8")
    return {
        name: Parameter(
            name,
            str(entry["title"]),
            str(entry["identifier"]),
            str(entry["unit"]),
            float(entry["low"]),
            float(entry["high"]),
            tuple(tuple(words) for words in entry["words"]),
        )
        for name, entry in yaml.safe_load(text).items()
    }


def parameter_of(column: str) -> Parameter | None:
    """Return the parameter that a column's name means: the entry with the most of its words, or None."""
    found = re.findall(r"[a-z]+", column.casefold())
    fitting = [
        (len(words), parameter)
        for parameter in parameters().values()
        for words in parameter.words
        if all(any(_same(word, seen) for seen in found) for word in words)
    ]
    return max(fitting, key=lambda pair: pair[0])[1] if fitting else None


def _same(word: str, seen: str) -> bool:
    """Tell whether a word of a column is the one looked for: short ones whole, longer ones by their beginning."""
    return seen == word if len(word) < 4 else seen.startswith(word)
