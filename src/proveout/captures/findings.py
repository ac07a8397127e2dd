"""What was found in a capture, as data: findings, marks for pictures, wheels, and what could not be decided."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

__all__ = ["CaptureFindings", "Finding", "Mark", "RoleTaken", "Undecided", "WheelPicture"]


@dataclass(frozen=True)
class Finding:
    """One thing that a capture shows.

    Attributes
    ----------
    analysis : str
        Name of the analysis that found it.
    name : str
        What was found, always under the same name (`low level`, `resting voltage`).
    channel : str
        Channel, or channels joined by ` + `.
    value : float or None
        In `unit`; None where the finding is a word.
    unit : str
        SI symbol, `1` for a ratio, `turn/s` for a speed; empty for a word.
    uncertainty : float or None
        Standard uncertainty in the same unit; None when it is not known.
    word : str
        The finding where it is no number: a kind of signal, the name of a wheel.
    start, end : float or None
        Time span to which it applies [s]; None for the whole record.
    text : str
        The finding as a sentence.
    """

    analysis: str
    name: str
    channel: str
    value: float | None = None
    unit: str = ""
    uncertainty: float | None = None
    word: str = ""
    start: float | None = None
    end: float | None = None
    text: str = ""


@dataclass(frozen=True)
class Mark:
    """A place in the record to be marked in a picture.

    Attributes
    ----------
    kind : str
        `lost tooth`, `dropout`, `extra edge`, `glitch`, `gap`, `in-rush`, `compression`, `roll-back` and so on.
    channel : str
    start, end : float
        Times [s]; equal for an instant.
    text : str
        What stands beside it.
    angle : float or None
        Angle of the wheel [turns, 0 to 1].
    speed : float or None
        Speed there [turn/s].
    count : int
        How many teeth or edges it stands for.
    """

    kind: str
    channel: str
    start: float
    end: float
    text: str = ""
    angle: float | None = None
    speed: float | None = None
    count: int = 1


@dataclass(frozen=True)
class Undecided:
    """Something that an analysis looked for and could not decide, and why."""

    analysis: str
    channel: str
    reason: str


@dataclass(frozen=True)
class WheelPicture:
    """A wheel for a polar picture: one ray for each tooth.

    Attributes
    ----------
    channel, name : str
    angles : tuple of float
        Angle of each tooth [turns, 0 to 1].
    amplitude : tuple of float
        Mean peak-to-peak value of each tooth [unit of the channel]; empty when the sensor switches.
    error : tuple of float
        Spacing error of each tooth [turns]; empty when it was not learnt.
    lost : tuple of int
        How often each tooth was lost; empty when none was.
    """

    channel: str
    name: str
    angles: tuple[float, ...]
    amplitude: tuple[float, ...] = ()
    error: tuple[float, ...] = ()
    lost: tuple[int, ...] = ()


@dataclass(frozen=True)
class RoleTaken:
    """What a channel was taken for, and why; `given` when the user said so."""

    role: str
    why: str
    given: bool = False


@dataclass(frozen=True)
class CaptureFindings:
    """Everything that was found in one capture.

    Attributes
    ----------
    file, sha256 : str
        The file that was read and its fingerprint.
    roles : mapping of str to RoleTaken
        By channel.
    findings, marks, undecided, wheels : tuple
    """

    file: str
    sha256: str
    roles: Mapping[str, RoleTaken] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    marks: tuple[Mark, ...] = ()
    undecided: tuple[Undecided, ...] = ()
    wheels: tuple[WheelPicture, ...] = ()

    def of(self, name: str, channel: str | None = None) -> Iterator[Finding]:
        """Yield the findings of that name, of one channel or of all."""
        return (f for f in self.findings if f.name == name and channel in (None, f.channel))

    def as_dict(self) -> dict[str, Any]:
        """Return everything as plain data for JSON; numbers that are not finite become null."""
        return _plain(asdict(self))

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> CaptureFindings:
        """Return the findings that `as_dict` wrote."""
        return cls(
            file=data["file"],
            sha256=data["sha256"],
            roles={name: RoleTaken(**role) for name, role in data["roles"].items()},
            findings=tuple(Finding(**row) for row in data["findings"]),
            marks=tuple(Mark(**row) for row in data["marks"]),
            undecided=tuple(Undecided(**row) for row in data["undecided"]),
            wheels=tuple(WheelPicture(**_with_tuples(row)) for row in data["wheels"]),
        )


def _with_tuples(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: tuple(value) if isinstance(value, list) else value for name, value in row.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(name): _plain(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return value
