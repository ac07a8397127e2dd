"""What a reader of a file format declares: how its files begin, and where the code is that decodes them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec

from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source

__all__ = ["Reader", "check"]


@dataclass(frozen=True)
class Reader:
    """A file format.

    Attributes
    ----------
    name : str
        As in `Origin.format`.
    title : str
        For the user.
    begins : callable
        Tells from the first bytes of a file whether it is of this format.
    place : str
        `module:function` that decodes it; imported when it is needed, because libraries of formats are slow to start.
    """

    name: str
    title: str
    begins: Callable[[bytes], bool]
    place: str

    def decode(self, source: Source, overrules: Overrules) -> Recording:
        """Read a file of this format.

        Raises
        ------
        InputError
            The file is damaged, or says something that cannot be.
        """
        module, _, function = self.place.partition(":")
        recording: Recording = getattr(import_module(module), function)(source, overrules)
        return recording


def check(reader: Reader, others: Iterable[Reader]) -> None:
    """Check a reader when it is registered.

    Raises
    ------
    ValueError
        Its name is taken, its code is not there, or it claims a file of no bytes.
    """
    if not reader.name.isidentifier() or reader.name in {other.name for other in others}:
        raise ValueError(f"reader {reader}: the name must be a word that no other reader has")
    module, _, function = reader.place.partition(":")
    if not function or find_spec(module) is None:
        raise ValueError(f"reader {reader}: there is no module '{module}' with a function behind ':'")
    if reader.begins(b""):
        raise ValueError(f"reader {reader}: it must not claim a file of no bytes")
