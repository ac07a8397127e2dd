"""What a case can learn: a reading, something seen, a repair tried."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.instruments import Reading

__all__ = ["BandSeen", "Evidence", "OutcomeSeen", "ReadingTaken", "RepairDone", "SignalWatched"]


@dataclass(frozen=True)
class ReadingTaken:
    """A measurement of the circuit file with what the instrument showed.

    `disturbed` says that the place was wiggled, warmed or shaken meanwhile: a fault that comes and goes is likelier to
    show itself then.
    """

    measurement: str
    reading: Reading
    disturbed: bool = False


@dataclass(frozen=True)
class BandSeen:
    """A measurement of which only this is known: the reading lay from `low` to `high`, or was over the limit."""

    measurement: str
    low: float = float("-inf")
    high: float = float("inf")
    over_limit: bool = False


@dataclass(frozen=True)
class OutcomeSeen:
    """The outcome of a behaviour, a look or a trial; a trial's outcomes are `cured` and `same`.

    `past` says that it was so before the vehicle came in (a complaint, a stored code): a fault that comes and goes was
    there then, and one that has gone meanwhile can explain it. `disturbed`, of a behaviour that was watched, as with a
    reading; the table of a look knows by itself what is moved.
    """

    kind: Literal["behaviour", "look", "trial"]
    name: str
    outcome: str
    past: bool = False
    disturbed: bool = False


@dataclass(frozen=True)
class RepairDone:
    """A suspect was repaired or replaced; `cured` says whether the proof showed a sound vehicle afterwards."""

    suspect: str
    cured: bool


@dataclass(frozen=True)
class SignalWatched:
    """A signal was recorded at a measurement for a while, and it was lost so many times (0: never).

    A fault that comes and goes shows itself by losing the signal now and then; a steady one is either there or not.
    `level` is where the signal stood while it was lost, with its standard uncertainty; None where that is not known.
    """

    measurement: str
    lost: int
    disturbed: bool = False
    level: Reading | None = None


Evidence = ReadingTaken | BandSeen | OutcomeSeen | RepairDone | SignalWatched
