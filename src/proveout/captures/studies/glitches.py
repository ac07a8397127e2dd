"""Glitches of analogue levels, in words."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.captures.analysis.glitches import find_glitches
from proveout.captures.findings import Finding, Mark
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import Study

__all__ = ["ANALYSIS"]

_NAME = "glitches"


def _run(study: Study) -> Iterator[Found]:
    for channel in study.by_role("analogue signal"):
        if not channel.usable:
            continue
        name, unit, levels = channel.channel.name, channel.channel.unit, channel.levels
        found = find_glitches(channel.channel.samples, channel.channel.clock, levels.noise, levels.resolution)
        worst = max((abs(glitch.extreme - glitch.level) for glitch in found), default=0.0)
        text = f"jumps and back of up to {worst:.3g} {unit}" if found else "none stands out of the noise"
        yield Finding(_NAME, "glitches", name, float(len(found)), "1", 0.0, text=text)
        for glitch in found:
            text = f"{glitch.level:.3g} {unit} to {glitch.extreme:.3g} {unit}"
            yield Mark("glitch", name, glitch.start, glitch.end, text)


ANALYSIS = Analysis("glitches", "Glitches of analogue levels", _run)
