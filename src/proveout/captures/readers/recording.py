"""What a reader makes of a file before it is a capture: columns as they stand in the file, and their common tail."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from proveout.captures.capture import Channel, Guess

__all__ = ["Recording"]


@dataclass(frozen=True)
class Recording:
    """Channels in the units of the file, with what was guessed and what is odd.

    Attributes
    ----------
    channels : sequence of Channel
        `unit` as the file writes it; samples not scaled.
    guesses, notes, details
        As in `Capture`.
    digital : frozenset of str
        Names of the channels whose numbers are a share of the recorder's full scale, not yet a quantity.
    """

    channels: Sequence[Channel]
    guesses: Sequence[Guess] = ()
    notes: Sequence[str] = ()
    details: Mapping[str, str] = field(default_factory=dict)
    digital: frozenset[str] = frozenset()

    def noting(self, *notes: str) -> Recording:
        """Return the recording with more notes, those of them that say anything."""
        return replace(self, notes=(*self.notes, *filter(None, notes)))
