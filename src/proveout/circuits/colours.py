"""Wire colours: from what people type to the code letters of IEC 60757, and back."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import cast

import yaml

from proveout.circuits.schema import Colour
from proveout.errors import InputError

__all__ = ["Colours", "colour_text", "colour_words", "parse_colours"]

Colours = tuple[Colour, ...]
_SEPARATORS = re.compile(r"[\s/\-_,+&.;:]+")
_FILLERS = frozenset({"and", "with", "stripe", "striped", "tracer", "und", "mit", "streifen"})
_MOST = 3


@cache
def colour_words() -> Mapping[str, Colour]:
    """Return every word, in small letters, with the code it stands for; the codes themselves are among them."""
    text = (resources.files(__package__) / "colours.yaml").read_text(encoding="utf-8")
    table = cast(dict[Colour, list[str]], yaml.safe_load(text))
    return MappingProxyType({word: code for code, words in table.items() for word in (code.lower(), *words)})


def parse_colours(text: str) -> Colours:
    """Return the colours of a wire, base colour first, from `RD/WH`, `rd-wh`, `red/white`, `RDWH` or `rot weiß`.

    Raises
    ------
    InputError
        A word that is no colour or not a clear one, no colour at all, or more than three.
    """
    words = [word for word in _SEPARATORS.split(text.strip().casefold()) if word and word not in _FILLERS]
    codes = tuple(code for word in words for code in _codes(word, text))
    if not codes:
        raise InputError(f"no colour in '{text}'; {_advice()}")
    if len(codes) > _MOST:
        raise InputError(
            f"{len(codes)} colours in '{text}'; a wire has a base colour and at most two stripes; {_advice()}"
        )
    return codes


def colour_text(colours: Sequence[str]) -> str:
    """Return colours as they are written in a diagram: `RD/WH`."""
    return "/".join(colours)


def _codes(word: str, text: str) -> Colours:
    words = {key.casefold(): code for key, code in colour_words().items()}
    if word in words:
        return (words[word],)
    pairs = [word[place : place + 2] for place in range(0, len(word), 2)]
    if len(word) > 2 and all(pair.upper() in words.values() for pair in pairs):
        return tuple(words[pair] for pair in pairs)
    raise InputError(f"unknown colour '{word}' in '{text}'; {_advice()}")


def _advice() -> str:
    names: dict[str, str] = {}
    for word, code in colour_words().items():
        if word != code.lower():
            names.setdefault(code, word)
    return "write " + ", ".join(f"{code} ({name})" for code, name in names.items()) + ", such as RD/WH"
