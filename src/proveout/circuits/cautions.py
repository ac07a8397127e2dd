"""The cautions, by id."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

import yaml

from proveout.errors import InputError

__all__ = ["caution_text", "caution_texts"]


@cache
def caution_texts() -> Mapping[str, str]:
    """Return every caution: its id and what is said."""
    text = (resources.files(__package__) / "cautions.yaml").read_text(encoding="utf-8")
    return MappingProxyType(yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)))


def caution_text(name: str) -> str:
    """Return the text of one caution.

    Raises
    ------
    InputError
        There is no caution of that id.
    """
    texts = caution_texts()
    if name not in texts:
        raise InputError(f"unknown caution '{name}'; the cautions are: {', '.join(texts)}")
    return texts[name]
