"""Value change dump, IEEE 1364-2005 clause 18: declarations by pyvcd, and a list of changes for each signal."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from vcd.common import VarType
from vcd.reader import Token, TokenKind, VarDecl, VCDParseError, tokenize

from proveout.captures.capture import Channel, Guess
from proveout.captures.readers.clocks import timing
from proveout.captures.readers.columns import unique
from proveout.captures.readers.counting import counted
from proveout.captures.readers.narrowing import narrow
from proveout.captures.readers.overrules import TIME_UNITS, Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.captures.readers.vcd_changes import Changes
from proveout.errors import InputError

__all__ = ["decode"]

_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "ps": 1e-12, "fs": 1e-15}
_DAMAGED = (VCDParseError, ValueError, OverflowError, AssertionError, IndexError, KeyError, AttributeError, TypeError)
_DECLARED = re.compile(rb"\$enddefinitions\s+\$end")


@dataclass
class _Dump:
    """What a dump declares, filled token by token, and the changes behind it."""

    variables: list[tuple[str, VarDecl]] = field(default_factory=list)
    scopes: list[str] = field(default_factory=list)
    scale: float | None = None
    details: dict[str, str] = field(default_factory=dict)
    changes: Changes = field(default_factory=Changes)

    def take(self, token: Token) -> None:
        match token.kind:
            case TokenKind.VAR:
                self.variables.append((".".join(self.scopes), token.var))
                self.changes.declare(_code(token.var))
            case TokenKind.SCOPE:
                self.scopes.append(token.scope.ident)
            case TokenKind.UPSCOPE:
                self.scopes[-1:] = []
            case TokenKind.TIMESCALE:
                self.scale = int(token.timescale.magnitude) * _UNITS[token.timescale.unit.value]
            case TokenKind.DATE | TokenKind.VERSION | TokenKind.COMMENT:
                self.details.setdefault(token.kind.name.lower(), " ".join(str(token.data).split()))
            case _:
                pass


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read a dump; a bit is 0 or 1, a vector its number, unknown and high-impedance states are missing.

    Raises
    ------
    InputError
        Not a dump, or without any change.
    """
    if overrules.rate is not None:
        raise InputError("a value change dump has a time for each change; leave the rate out")
    dump, note = _read(source)
    guesses = list[Guess]()
    scale = TIME_UNITS.get(overrules.time_unit or "", dump.scale or 0.0)
    if not scale:
        scale = 1e-9
        guesses.append(Guess("unit of time", "ns", "the dump gives no time scale", "time-unit"))
    channels, notes = list[Channel](), list[str]()
    for name, variable in _named(dump):
        if not dump.changes.ticks[_code(variable)]:
            notes.append(f"signal '{name}' never has a value and is left out")
            continue
        channel, told = _channel(name, variable, dump, scale, overrules)
        channels.append(channel)
        notes += [f"signal '{name}': {text}" for text in told]
    if not channels:
        raise InputError(f"the value change dump has no change of any signal: {note or 'nothing was recorded'}")
    if dump.changes.texts:
        notes.append(f"{counted(dump.changes.texts, 'change')} of text left out")
    return Recording(channels, guesses, (*filter(None, [note]), *notes), dump.details)


def _read(source: Source) -> tuple[_Dump, str]:
    """Read up to the end or the first damage, and say which."""
    dump = _Dump()
    end = _DECLARED.search(source.data)
    head = bytes(source.data[: end.end() if end else source.size]).removeprefix(b"\xef\xbb\xbf")
    try:
        for token in tokenize(io.BytesIO(head)):
            dump.take(token)
        if end is not None:
            dump.changes.read(source.data[end.end() :])
    except _DAMAGED as error:
        told = str(error).splitlines()[0][:200] if str(error) else "it ends within an entry"
        return dump, f"the dump is damaged or cut short ({told}): what came before is read"
    return dump, ""


def _code(variable: VarDecl) -> bytes:
    return variable.id_code.encode("latin-1", "replace")


def _named(dump: _Dump) -> Iterator[tuple[str, VarDecl]]:
    """Yield the signals, with their scope where there is more than one."""
    several = len({scope for scope, _ in dump.variables}) > 1
    kept = [(scope, var) for scope, var in dump.variables if var.type_ is not VarType.string]
    names = unique([f"{scope}.{var.ref_str}" if several and scope else var.ref_str for scope, var in kept])
    yield from zip(names, (var for _, var in kept), strict=True)


def _channel(
    name: str, variable: VarDecl, dump: _Dump, scale: float, overrules: Overrules
) -> tuple[Channel, tuple[str, ...]]:
    """Return a signal that holds each value until the next change, and the last one until the end of the dump."""
    ticks = np.array(dump.changes.ticks[_code(variable)])
    values = np.array(dump.changes.values[_code(variable)])
    if dump.changes.now > ticks[-1]:
        ticks, values = np.append(ticks, float(dump.changes.now)), np.append(values, values[-1])
    holds = True if overrules.holds is None else overrules.holds
    made = timing(ticks * scale, rounding=0.0, holds=holds)
    samples = values if made.rows is None else values[made.rows]
    return Channel(name, "1" if variable.size == 1 else "", narrow(samples), made.clock), made.notes
