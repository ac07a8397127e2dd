"""A mistake by its place in the data, before a line of the file is put to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

__all__ = ["Finding", "Path", "choices", "closest", "unknown", "where"]

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Finding:
    """One mistake.

    `about` names the entry (section, name) whose absence or state it reports; a topic such as `*nodes` or `*` in place
    of the name means all entries of the section. A finding about an entry that could not be read, or that is itself
    reported, is a consequence, not a mistake of its own.
    """

    path: Path
    found: str
    expected: str
    instead: str
    about: tuple[str, str] | None = None


def where(path: Path) -> str:
    """Return a path as text: `parts.w_ref.nodes, item 2`."""
    text = ""
    for step in path:
        text += f", item {step + 1}" if isinstance(step, int) else f".{step}" if text else step
    return text or "the file"


def closest(name: str, known: Iterable[str]) -> str:
    """Return the known name most like `name`, or nothing when none is near.

    Near is a difflib ratio of 0.7, or of 0.66 up to four letters, so that `gdn` still brings `gnd`.
    """
    names = list(known)
    folded = {other.casefold(): other for other in names}
    near = get_close_matches(name.casefold(), folded, n=1, cutoff=0.66 if len(name) <= 4 else 0.7)
    return folded[near[0]] if near else ""


def choices(known: Iterable[str], most: int = 12) -> str:
    """Return names as a list to read, cut after `most`."""
    names = sorted(known)
    if not names:
        return "none is defined"
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


def unknown(path: Path, what: str, name: str, known: Iterable[str], section: str) -> Finding:
    """Return the finding that `name` is no known `what` (an entry of `section`), with the nearest name."""
    names = list(known)
    near = closest(name, names)
    instead = f"Write '{near}'" if near else f"Write one of these, or add '{name}' under '{section}'"
    return Finding(path, f"unknown {what} '{name}'", f"one of: {choices(names)}", instead, (section, name))
