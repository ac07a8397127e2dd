"""Phase of the cam against the crank, in words."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from proveout.captures.analysis.cam_phase import CamPhase, cam_phase
from proveout.captures.analysis.turn_grid import turn_grid
from proveout.captures.findings import Finding, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS", "phase_of"]

_NAME = "cam"


def _run(study: Study) -> Iterator[Found]:
    for crank, cam in product(study.by_role("crank sensor"), study.by_role("cam sensor")):
        try:
            yield from _phase(crank, cam)
        except InputError as error:
            yield Undecided(_NAME, cam.channel.name, str(error))


def phase_of(crank: ChannelStudy, cam: ChannelStudy) -> CamPhase:
    """Return the phase of the cam's rising edges against the crank's; raises `InputError` where there is no wheel."""
    return cam_phase(turn_grid(crank.risen), cam.risen)


def _phase(crank: ChannelStudy, cam: ChannelStudy) -> Iterator[Found]:
    both = f"{crank.channel.name} + {cam.channel.name}"
    if not all(channel.usable and channel.toothed for channel in (crank, cam)):
        yield Undecided(_NAME, both, "cam against crank: one of the two signals is not that of teeth")
        return
    found = phase_of(crank, cam)
    for k, place in enumerate(found.place):
        text = f"after the first tooth behind the gap; scatter {found.scatter[k]:.2f}° over {found.cycles} cycles"
        value, error = float(found.angle[k]), float(found.uncertainty[k])
        yield Finding(_NAME, f"cam edge {int(place) + 1}", both, value, "deg", error, text=text)


ANALYSIS = Analysis("cam", "Cam against crank", _run)
