"""What can go wrong, as one tree. Every message names the value, the place, the rule and what to do next.

The tree::

    ProveoutError                 anything that is said to the user in one sentence, exit code 2
    ├── InputError                something typed or given is not usable
    │   ├── UnitError             an unknown unit, or a unit of the wrong kind
    │   └── RangeError            a value that the instrument cannot show or a field cannot hold
    ├── CircuitError              a circuit file with one or more mistakes, all of them listed
    ├── NetworkError              a network that cannot be solved
    │   ├── SingularError         a node that nothing holds
    │   └── DivergedError         an element on which the solution does not settle
    ├── BlockedError              a step that is not allowed now, with the reason
    └── StoreError                the case store cannot be read or written
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "BlockedError",
    "CircuitError",
    "DivergedError",
    "InputError",
    "Mistake",
    "NetworkError",
    "ProveoutError",
    "RangeError",
    "SingularError",
    "StoreError",
    "UnitError",
]


class ProveoutError(Exception):
    """Anything that is said to the user in plain words; the command line exits with 2."""

    exit_code: ClassVar[int] = 2


class InputError(ProveoutError):
    """Something that was typed or given cannot be used."""


class UnitError(InputError):
    """A unit that is unknown or of the wrong kind."""


class RangeError(InputError):
    """A value outside what the instrument can show or the field can hold."""


@dataclass(frozen=True)
class Mistake:
    """One mistake in a circuit file: where, what was found, what was expected, what to write instead."""

    line: int
    place: str
    found: str
    expected: str
    instead: str

    def __str__(self) -> str:
        """Return the mistake as one line of text."""
        return f"line {self.line}, {self.place}: {self.found}; expected {self.expected}. {self.instead}"


class CircuitError(ProveoutError):
    """A circuit file with mistakes; `mistakes` holds all of them."""

    def __init__(self, file: str, mistakes: Sequence[Mistake]) -> None:
        self.file = file
        self.mistakes = tuple(mistakes)
        count = len(self.mistakes)
        head = f"{file}: {count} mistake{'s' if count != 1 else ''}"
        super().__init__("\n".join([head, *(f"  {file}:{m}" for m in self.mistakes)]))


class NetworkError(ProveoutError):
    """A network that cannot be solved."""


class SingularError(NetworkError):
    """A node that nothing holds: no element and no leakage fixes its effort."""


class DivergedError(NetworkError):
    """A solution that does not settle; the message names the element and the node."""


class BlockedError(ProveoutError):
    """A step that is not allowed now, with the reason and the way out."""


class StoreError(ProveoutError):
    """The case store cannot be read or written; nothing that was stored is lost."""
