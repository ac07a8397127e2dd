"""What an analysis owes to the registry."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

from proveout.captures.findings import Finding, Mark, Undecided, WheelPicture
from proveout.captures.study import Study

__all__ = ["Analysis", "Found"]

Found: TypeAlias = Finding | Mark | Undecided | WheelPicture


@dataclass(frozen=True)
class Analysis:
    """One analysis of a capture.

    Attributes
    ----------
    name : str
        As findings and the command line name it.
    title : str
        What it says, as the head of a table.
    run : callable
        Takes the study and yields what it finds; whatever it cannot decide it yields as `Undecided`.
    """

    name: str
    title: str
    run: Callable[[Study], Iterator[Found]]
