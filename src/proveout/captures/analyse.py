"""The whole analysis of a capture: every registered analysis in turn, on a file alone or with roles given."""

from __future__ import annotations

from collections.abc import Mapping

from proveout.captures.capture import Capture
from proveout.captures.findings import CaptureFindings, Finding, Mark, Undecided, WheelPicture
from proveout.captures.roles import take_roles
from proveout.captures.studies import (
    Analysis,
    battery,
    cam,
    coil,
    cylinders,
    direction,
    glitches,
    signal_kind,
    speed,
    transitions,
    wheel,
)
from proveout.captures.study import Study

__all__ = ["ANALYSES", "analyse", "findings_of", "study_of"]

ANALYSES: tuple[Analysis, ...] = (
    signal_kind.ANALYSIS,
    transitions.ANALYSIS,
    wheel.ANALYSIS,
    speed.ANALYSIS,
    coil.ANALYSIS,
    cylinders.ANALYSIS,
    direction.ANALYSIS,
    cam.ANALYSIS,
    glitches.ANALYSIS,
    battery.ANALYSIS,
)
"""A new analysis is one module of `captures.studies` and one entry here, in the order in which they are told."""


def analyse(capture: Capture, roles: Mapping[str, str] | None = None) -> CaptureFindings:
    """Return everything that the capture shows.

    Parameters
    ----------
    capture : Capture
    roles : mapping of str to str, optional
        Role by channel (`captures.roles.ROLES`), for those that are known; the others are guessed.

    Raises
    ------
    InputError
        If a role is given to a channel that is not there, or is none of the roles. Samples that allow no analysis
        raise nothing: they stand among what could not be decided.
    """
    return findings_of(study_of(capture, roles))


def study_of(capture: Capture, roles: Mapping[str, str] | None = None) -> Study:
    """Return the capture ready for analysis, its channels' roles given or guessed; raises as `analyse` does."""
    study = Study(capture)
    study.take(take_roles(capture, study.channels, roles or {}))
    return study


def findings_of(study: Study) -> CaptureFindings:
    """Return what every registered analysis finds in a capture under study."""
    found = [item for analysis in ANALYSES for item in analysis.run(study)]
    return CaptureFindings(
        file=study.capture.origin.name,
        sha256=study.capture.origin.sha256,
        roles=study.taken,
        findings=tuple(item for item in found if isinstance(item, Finding)),
        marks=tuple(sorted((item for item in found if isinstance(item, Mark)), key=lambda mark: mark.start)),
        undecided=tuple(item for item in found if isinstance(item, Undecided)),
        wheels=tuple(item for item in found if isinstance(item, WheelPicture)),
    )
