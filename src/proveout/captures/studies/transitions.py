"""Rise and fall times of switched signals, in words."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.captures.analysis.transitions import transition_time
from proveout.captures.findings import Finding
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study

__all__ = ["ANALYSIS"]

_NAME = "transitions"
_SWITCHED = ("on/off voltage", "two-level current", "direction-coded pulses")


def _run(study: Study) -> Iterator[Found]:
    for name, channel in study.channels.items():
        if channel.usable and channel.kind.kind in _SWITCHED and channel.channel.clock.even:
            yield from _times(name, channel)


def _times(name: str, channel: ChannelStudy) -> Iterator[Found]:
    levels, step = channel.levels, channel.interval
    for word, up in (("rise time", True), ("fall time", False)):
        found = transition_time(
            channel.channel.samples, channel.positions, channel.edges.rising, levels.low, levels.high, up=up
        )
        if found is None:
            continue
        if found.resolved:
            text = f"10 % to 90 %, median of {found.edges} edges"
            yield Finding(_NAME, word, name, found.samples * step, "s", found.error * step, text=text)
        else:
            text = f"below {2 * step:.3g} s: no sample lies between 10 % and 90 %"
            yield Finding(_NAME, f"{word} below", name, 2 * step, "s", text=text)


ANALYSIS = Analysis("transitions", "Rise and fall times", _run)
