"""Kind of signal, levels, transitions, noise: what each channel shows before anything is made of it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from proveout.captures.analysis.kind import titles
from proveout.captures.analysis.levels import Levels
from proveout.captures.findings import Finding, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS"]

_NAME = "signal"
_END = {"low": "least", "high": "greatest"}
_SWITCHED = ("on/off voltage", "two-level current", "direction-coded pulses")


def _run(study: Study) -> Iterator[Found]:
    for name, channel in study.channels.items():
        try:
            yield from _kind(name, channel)
            yield from _levels(name, channel)
        except InputError as error:
            yield Undecided(_NAME, name, str(error))


def _kind(name: str, channel: ChannelStudy) -> Iterator[Found]:
    kind = channel.kind
    if kind.kind is None:
        yield Undecided(_NAME, name, f"kind of signal: {kind.reason}")
        return
    why = f": {', '.join(kind.evidence)}" if kind.evidence else ""
    text = f"{titles()[kind.kind]}, {kind.probability:.0%}{why}"
    yield Finding(_NAME, "kind of signal", name, kind.probability, "1", word=kind.kind, text=text)
    if kind.reason:
        yield Undecided(_NAME, name, kind.reason)


def _levels(name: str, channel: ChannelStudy) -> Iterator[Found]:
    levels, unit = channel.levels, channel.channel.unit
    find = partial(Finding, _NAME, channel=name, unit=unit)
    if channel.kind.kind in _SWITCHED:
        yield find(name="low level", value=levels.low, uncertainty=levels.low_error)
        yield find(name="high level", value=levels.high, uncertainty=levels.high_error)
        yield from _duty(name, channel)
    else:
        yield find(name="least value", value=levels.extent.least)
        yield find(name="greatest value", value=levels.extent.greatest)
        yield find(name="mean", value=levels.extent.mean)
    yield find(name="noise", value=levels.noise)
    if levels.noise > 0 and levels.swing > 0:
        yield Finding(_NAME, "signal to noise", name, levels.signal_to_noise, "dB")
    if levels.resolution > 0:
        yield find(name="resolution", value=levels.resolution, text="smallest step of the recorder")
    if channel.kind.kind not in _SWITCHED:
        yield from _clipping(name, levels)
    if levels.extent.missing:
        share = levels.extent.missing / (levels.extent.missing + levels.extent.usable)
        yield Finding(_NAME, "missing samples", name, share, "1", text=f"{levels.extent.missing} samples are missing")


def _duty(name: str, channel: ChannelStudy) -> Iterator[Found]:
    spans, rising = np.diff(channel.edges.times), channel.edges.rising[:-1]
    if spans.size >= 2:
        yield Finding(_NAME, "duty", name, float(spans[rising].sum() / spans.sum()), "1", text="share of the time high")


def _clipping(name: str, levels: Levels) -> Iterator[Found]:
    for side, share in (("low", levels.clipped_low), ("high", levels.clipped_high)):
        if share > 0:
            end = f"{_END[side]} value: clipped by the recorder, or stuck there"
            text = f"{share:.1%} of the samples stand flat at the {end}"
            yield Finding(_NAME, f"clipped {side}", name, share, "1", text=text)


ANALYSIS = Analysis("signal", "Kind of signal and its levels", _run)
