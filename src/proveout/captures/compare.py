"""A capture beside a known-good one, or beside the one before the repair: a table, and what changed in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

import numpy as np

from proveout.captures.analyse import findings_of, study_of
from proveout.captures.analysis.air_gap import gap_change
from proveout.captures.analysis.by_angle import OverTurn, by_angle
from proveout.captures.analysis.cam_phase import phase_shift
from proveout.captures.capture import Capture
from proveout.captures.findings import CaptureFindings, Finding
from proveout.captures.studies.cam import phase_of
from proveout.captures.studies.coil import amplitude_of
from proveout.captures.study import Study
from proveout.errors import InputError

__all__ = ["Comparison", "Row", "compare", "matched_channels", "overlay", "table"]

Verdict = Literal["changed", "same", "differs", "only now", "only in the reference"]

_SURE = 3.0
"""Uncertainties from which a difference is a change."""

_RECORDER = 0.01
"""Relative standard uncertainty of the recorder's own gain, from one capture to the next (common practice: 1 %)."""

_MEASURED = ("V", "A")
_TOLD_BY_PHYSICS = ("amplitude",)
"""Figures that follow the speed, so that only their own comparison can say whether they changed."""

_NOTICED = 0.05
"""Relative difference from which two figures without a known uncertainty are called different."""


@dataclass(frozen=True)
class Row:
    """One figure of both captures.

    Attributes
    ----------
    name, channel, reference_channel, unit : str
    value, reference : float or None
    word, reference_word : str
        Where the finding is no number.
    difference, uncertainty : float or None
        Now less reference, and its standard uncertainty; None where one of the two is missing or has none.
    verdict : str
        `changed` or `same` by more or less than three uncertainties; `differs` where the uncertainty is not known and
        the difference is above 5 %; `only now`, `only in the reference`.
    """

    name: str
    channel: str
    reference_channel: str
    unit: str
    value: float | None
    reference: float | None
    word: str
    reference_word: str
    difference: float | None
    uncertainty: float | None
    verdict: Verdict


@dataclass(frozen=True)
class Comparison:
    """Two captures side by side.

    Attributes
    ----------
    now, reference : CaptureFindings
    rows : tuple of Row
    changes : tuple of str
        What changed, in sentences, the surest first.
    undecided : tuple of str
        What could not be compared, and why.
    """

    now: CaptureFindings
    reference: CaptureFindings
    rows: tuple[Row, ...]
    changes: tuple[str, ...]
    undecided: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the comparison as plain data for JSON."""
        rows = [
            {
                name: None if isinstance(value, float) and not math.isfinite(value) else value
                for name, value in row.items()
            }
            for row in map(asdict, self.rows)
        ]
        return {
            "now": self.now.as_dict(),
            "reference": self.reference.as_dict(),
            "rows": rows,
            "changes": list(self.changes),
            "undecided": list(self.undecided),
        }


def compare(
    now: Capture,
    reference: Capture,
    roles: Mapping[str, str] | None = None,
    reference_roles: Mapping[str, str] | None = None,
) -> Comparison:
    """Return two captures side by side.

    Parameters
    ----------
    now, reference : Capture
        The one in question, and the known-good one or the one before the repair.
    roles, reference_roles : mapping of str to str, optional
        Roles by channel, as for `analyse`.

    Raises
    ------
    InputError
        As `analyse` does, and if no channel of one has a counterpart in the other.
    """
    mine, theirs = study_of(now, roles), study_of(reference, reference_roles)
    pairs = matched_channels(mine, theirs)
    if not pairs:
        raise InputError(
            f"no channel of '{now.origin.name}' has a counterpart in '{reference.origin.name}': give the channels of "
            "both the same role"
        )
    found, other = findings_of(mine), findings_of(theirs)
    rows = tuple(table(found, other, pairs))
    special, undecided = _by_physics(mine, theirs, pairs)
    return Comparison(found, other, rows, (*special, *_in_words(rows)), undecided)


def matched_channels(mine: Study, theirs: Study) -> dict[str, str]:
    """Return the counterpart of each channel: of the same name, else the only one of the same role.

    Where each capture has but one channel that is used, these two are taken.
    """
    pairs = {name: name for name in mine.channels if name in theirs.channels}
    for name in mine.channels:
        role = mine.role(name)
        alike = [other for other in theirs.channels if theirs.role(other) == role and other not in pairs.values()]
        if name not in pairs and role != "not used" and len(alike) == 1:
            pairs[name] = alike[0]
    used = [[name for name in study.channels if study.role(name) != "not used"] for study in (mine, theirs)]
    return pairs or ({used[0][0]: used[1][0]} if len(used[0]) == len(used[1]) == 1 else {})


def table(now: CaptureFindings, reference: CaptureFindings, pairs: Mapping[str, str]) -> Iterator[Row]:
    """Yield one row for each finding of either capture, in the order in which they are told.

    Findings that occur several times under one name (stretches of steady speed) are paired in order of time.
    """
    left = _numbered(now)
    right = _numbered(reference)
    used = set()
    for (name, channel, count), finding in left.items():
        other_channel = " + ".join(pairs.get(part, "") for part in channel.split(" + "))
        key = (name, other_channel, count)
        used.add(key)
        yield _row(finding, right.get(key))
    for key, finding in right.items():
        if key not in used:
            yield _row(None, finding)


def _numbered(found: CaptureFindings) -> dict[tuple[str, str, int], Finding]:
    counts: dict[tuple[str, str], int] = {}
    numbered = {}
    for finding in found.findings:
        key = (finding.name, finding.channel)
        counts[key] = counts.get(key, 0) + 1
        numbered[(*key, counts[key])] = finding
    return numbered


def _row(mine: Finding | None, theirs: Finding | None) -> Row:
    known = mine or theirs
    if known is None:
        raise InputError("a row of a comparison needs a finding of one of the two captures")
    difference = uncertainty = None
    if mine and theirs and mine.value is not None and theirs.value is not None:
        difference = mine.value - theirs.value
        uncertainty = _uncertainty(mine, theirs)
    return Row(
        known.name,
        mine.channel if mine else "",
        theirs.channel if theirs else "",
        known.unit,
        mine.value if mine else None,
        theirs.value if theirs else None,
        mine.word if mine else "",
        theirs.word if theirs else "",
        difference,
        uncertainty,
        _verdict(mine, theirs, difference, uncertainty),
    )


def _uncertainty(mine: Finding, theirs: Finding) -> float | None:
    if mine.uncertainty is None or theirs.uncertainty is None:
        return None
    gain = _RECORDER if mine.unit in _MEASURED else 0.0
    parts = [mine.uncertainty, theirs.uncertainty, gain * abs(mine.value or 0.0), gain * abs(theirs.value or 0.0)]
    total = math.hypot(*parts)
    return total if math.isfinite(total) else None


def _verdict(
    mine: Finding | None, theirs: Finding | None, difference: float | None, uncertainty: float | None
) -> Verdict:
    if mine is None:
        return "only in the reference"
    if theirs is None:
        return "only now"
    if mine.word or theirs.word:
        return "same" if mine.word == theirs.word else "changed"
    if difference is None:
        return "same"
    if uncertainty is not None:
        return "changed" if abs(difference) > _SURE * uncertainty else "same"
    size = max(abs(mine.value or 0.0), abs(theirs.value or 0.0))
    return "differs" if abs(difference) > _NOTICED * size else "same"


def _in_words(rows: tuple[Row, ...]) -> Iterator[str]:
    changed = [row for row in rows if row.verdict == "changed" and row.name not in _TOLD_BY_PHYSICS]
    for row in sorted(changed, key=_surety, reverse=True):
        place = f"{row.name} of {row.channel}"
        if row.word or row.reference_word:
            yield f"{place}: {row.reference_word or 'nothing'} before, {row.word or 'nothing'} now"
        elif row.difference is not None and row.value is not None and row.reference is not None:
            way = "up" if row.difference > 0 else "down"
            unit = "" if row.unit == "1" else f" {row.unit}"
            yield f"{place}: {way} from {row.reference:.4g} to {row.value:.4g}{unit}"


def _surety(row: Row) -> float:
    """Return the difference in uncertainties; words and counts come first."""
    return abs(row.difference / row.uncertainty) if row.difference is not None and row.uncertainty else math.inf


def _by_physics(mine: Study, theirs: Study, pairs: Mapping[str, str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what the analyses with a comparison of their own say: the gap of a coil, the phase of a cam."""
    said: list[str] = []
    undecided: list[str] = []
    for line in (*_gaps(mine, theirs, pairs), *_phases(mine, theirs)):
        (undecided if line.startswith("?") else said).append(line.removeprefix("?"))
    return tuple(said), tuple(undecided)


def _gaps(mine: Study, theirs: Study, pairs: Mapping[str, str]) -> Iterator[str]:
    for name, other in pairs.items():
        ours, good = mine.channels[name], theirs.channels[other]
        if not all(c.usable and c.kind.kind == "variable reluctance" and c.toothed for c in (ours, good)):
            continue
        try:
            change = gap_change(amplitude_of(ours), amplitude_of(good))
        except InputError as error:
            yield f"?gap of {name}: {error}"
            continue
        if abs(change.pitches) > _SURE * math.hypot(change.uncertainty, _RECORDER / math.pi):
            way = "wider" if change.pitches > 0 else "narrower"
            yield (
                f"amplitude of {name} for its speed: as if the gap were {way} by {abs(change.pitches):.3f} "
                f"± {change.uncertainty:.3f} pitches of the teeth; {change.reason}"
            )


def _phases(mine: Study, theirs: Study) -> Iterator[str]:
    sides = [(study.by_role("crank sensor"), study.by_role("cam sensor")) for study in (mine, theirs)]
    if not all(crank and cam for crank, cam in sides):
        return
    if not all(channel.usable and channel.toothed for crank, cam in sides for channel in (crank[0], cam[0])):
        yield "?cam against crank: one of the signals is not that of teeth"
        return
    try:
        now, before = (phase_of(crank[0], cam[0]) for crank, cam in sides)
        shift = phase_shift(now, before)
    except InputError as error:
        yield f"?cam against crank: {error}"
        return
    if abs(shift.shift) > _SURE * max(shift.uncertainty, 1e-9):
        way = "later" if shift.shift > 0 else "earlier"
        size = f"{abs(shift.shift):.1f} ± {shift.uncertainty:.1f} crank degrees"
        yield f"the cam stands {size} {way} than in the reference; {shift.reason}"


def overlay(mine: Study, theirs: Study, pairs: Mapping[str, str]) -> dict[str, tuple[OverTurn, OverTurn]]:
    """Return both captures' signals over the angle of the wheel, by channel, of those that have the same wheel."""
    found = {}
    for name, other in pairs.items():
        sides = mine.channels[name], theirs.channels[other]
        if not all(side.usable and side.toothed and side.wheel.wheel is not None for side in sides):
            continue
        names = {side.wheel.wheel.name for side in sides if side.wheel.wheel is not None}
        if len(names) == 1:
            over = [by_angle(side.channel.samples, side.channel.clock, side.grid) for side in sides]
            found[name] = (over[0], _aligned(over[1], over[0]))
    return found


def _aligned(turn: OverTurn, to: OverTurn) -> OverTurn:
    """Return a turn shifted by the angle at which it is most like the other one.

    Rising edges may have marked one wheel and falling ones the other; then their zeros lie part of a pitch apart.
    """
    curves = [np.nan_to_num(side.middle - np.nanmean(side.middle)) for side in (turn, to)]
    likeness = np.fft.irfft(np.fft.rfft(curves[1]) * np.conj(np.fft.rfft(curves[0])), curves[0].size)
    shift = int(np.argmax(likeness))
    return replace(turn, **{name: np.roll(getattr(turn, name), shift) for name in ("low", "middle", "high")})
