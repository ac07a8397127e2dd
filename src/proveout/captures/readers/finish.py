"""The common end of every reader: names, units, attenuation and clamp, and what is odd about a channel."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from proveout.captures.capture import Channel, Guess, Samples
from proveout.captures.readers.column_units import ColumnUnit, column_unit
from proveout.captures.readers.extent import extent
from proveout.captures.readers.overrules import ALL, ChannelOverrule, Overrules
from proveout.captures.readers.recording import Recording
from proveout.errors import InputError

__all__ = ["finish"]

_CURRENT = re.compile(r"current|amp|clamp|strom|\bi\b", re.IGNORECASE)
_MANY = 3  # channels from which on one guess is told for all of them
_AT_LIMIT = 2  # consecutive or not: one sample at full scale is a peak that just fits


def finish(recording: Recording, overrules: Overrules) -> Recording:
    """Return a recording in SI units with everything that was said and guessed about its channels.

    Raises
    ------
    InputError
        No channel, two of one name after renaming, or something said about a channel that does not exist.
    """
    empty = [channel.name for channel in recording.channels if not channel.samples.size]
    if empty:
        filled = [channel for channel in recording.channels if channel.samples.size]
        recording = replace(recording, channels=filled).noting(
            f"channels without a sample left out: {', '.join(empty)}"
        )
    if not recording.channels:
        raise InputError("the file holds no channel with numbers; give a recording")
    _check_names(recording, overrules)
    channels, guesses, notes = [], [*recording.guesses], [*recording.notes]
    for raw in recording.channels:
        said = overrules.of(raw.name)
        channel, told = _in_si(raw, said, digital=raw.name in recording.digital)
        channels.append(channel)
        guesses += told
        notes += _oddities(channel, digital=raw.name in recording.digital)
    names = [channel.name for channel in channels]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError(f"two channels are called '{twice}'; give one of them another name")
    return replace(recording, channels=tuple(channels), guesses=tuple(_together(guesses)), notes=tuple(notes))


def _together(guesses: Sequence[Guess]) -> Iterator[Guess]:
    """Yield a guess that is the same for many channels once, for the whole file."""
    alike = Counter(replace(guess, channel="") for guess in guesses)
    said = set[Guess]()
    for guess in guesses:
        whole = replace(guess, channel="")
        if alike[whole] < _MANY:
            yield guess
        elif whole not in said:
            said.add(whole)
            yield replace(whole, why=f"{whole.why} (so for {alike[whole]} channels)")


def _check_names(recording: Recording, overrules: Overrules) -> None:
    known = [channel.name for channel in recording.channels]
    for name in overrules.channels:
        if name not in (*known, ALL):
            raise InputError(f"there is no channel '{name}' to overrule; the file has {', '.join(known)}")


def _in_si(raw: Channel, said: ChannelOverrule, *, digital: bool) -> tuple[Channel, list[Guess]]:
    """Scale the samples of a channel, and say what was taken for granted."""
    written = raw.unit if said.unit is None else said.unit
    known = column_unit(written) if written else None
    unit = known or ColumnUnit(written)
    factor = unit.factor * (said.attenuation or 1.0) * (said.clamp or 1.0) * (said.full_scale or 1.0)
    symbol = unit.symbol
    if said.clamp is not None:
        if symbol not in ("V", ""):
            raise InputError(
                f"channel '{raw.name}' is in {symbol}; a clamp scale turns volts into amperes: leave it out"
            )
        symbol = "A"
    name = said.name or raw.name
    channel = replace(
        raw,
        name=name,
        unit=symbol,
        samples=_scaled(raw.samples, factor, unit.offset),
        over_low=_limit(raw.over_low, factor, unit.offset),
        over_high=_limit(raw.over_high, factor, unit.offset),
    )
    if factor < 0:
        channel = replace(channel, over_low=channel.over_high, over_high=channel.over_low)
    return channel, _taken_for_granted(raw, channel, said, known is not None, digital)


def _scaled(samples: Samples, factor: float, offset: float) -> Samples:
    if factor == 1.0 and offset == 0.0:
        return samples
    kind = samples.dtype.type
    scaled: Samples = samples * kind(factor)
    if offset:
        scaled += kind(offset)
    return scaled


def _limit(value: float | None, factor: float, offset: float) -> float | None:
    return None if value is None else value * factor + offset


def _taken_for_granted(
    raw: Channel, channel: Channel, said: ChannelOverrule, known: bool, digital: bool
) -> list[Guess]:
    """Return the guesses about one channel."""
    guesses = []
    key = raw.name
    if digital and said.full_scale is None:
        guesses.append(Guess("full scale", "1", "the format stores shares of full scale only", "full-scale", key))
    if not raw.unit and said.unit is None and said.clamp is None:
        guesses.append(Guess("unit", "none", "the file gives no unit for this channel", "unit", key))
    elif not known and said.clamp is None:
        guesses.append(
            Guess("unit", f"'{channel.unit}' as written", "the unit is not one that is turned into SI", "unit", key)
        )
    if channel.unit == "V" and said.attenuation is None:
        why = "the numbers are taken as volts at the probe's tip"
        guesses.append(Guess("probe attenuation", "1:1", why, "attenuation", key))
    if channel.unit in ("V", "") and said.clamp is None and _CURRENT.search(raw.name.replace("_", " ")):
        why = "the name speaks of a current but the unit does not; a clamp's scale is not known"
        guesses.append(Guess("clamp scale", "none", why, "clamp", key))
    return guesses


def _oddities(channel: Channel, *, digital: bool) -> list[str]:
    """Say what is odd about the samples of a channel."""
    samples = channel.samples
    if samples.size == 1:
        return [f"channel '{channel.name}' has one sample only"]
    low, high = extent(samples)
    notes = []
    if np.isnan(samples.min()):
        unusable = int(np.isnan(samples).sum())
        if unusable == samples.size:
            return [f"channel '{channel.name}' has no usable sample: all {samples.size} are missing or over range"]
        notes.append(f"channel '{channel.name}': {unusable} of {samples.size} samples missing or over range")
    if low == high:
        notes.append(f"channel '{channel.name}' is constant at {low:g} {channel.unit}".rstrip())
    elif digital:
        notes += _clipped(channel)
    return notes


def _clipped(channel: Channel) -> list[str]:
    samples = channel.samples
    limits = [(channel.over_low, np.less_equal), (channel.over_high, np.greater_equal)]
    count = sum(int(beyond(samples, limit).sum()) for limit, beyond in limits if limit is not None)
    if count < _AT_LIMIT:
        return []
    return [f"channel '{channel.name}' is clipped: {count} samples stand at the limit of its range"]
