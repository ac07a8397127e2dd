"""The bytes of a text file as UTF-8 or plain ASCII, without a copy unless the encoding needs one."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from proveout.captures.capture import Guess
from proveout.errors import InputError

__all__ = ["Text", "mended", "read_text"]

_MARKS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_LOOKED_AT = 65536
_MOST_TWICE = 3


@dataclass(frozen=True)
class Text:
    """A text's bytes in an encoding that agrees with ASCII (`encoding`), with what was found out about it."""

    data: memoryview
    encoding: str
    guesses: tuple[Guess, ...] = ()
    notes: tuple[str, ...] = ()


def read_text(data: memoryview, encoding: str | None = None) -> Text:
    """Find the encoding by its mark, its zeros or its validity, and cut zeros at the end off.

    Raises
    ------
    InputError
        The encoding named is not known or does not fit.
    """
    if encoding is not None:
        return Text(_as_utf8(data, encoding), "utf-8")
    head = bytes(data[:_LOOKED_AT])
    for mark, name in _MARKS:
        if head.startswith(mark):
            rest = data[len(mark) :]
            return Text(rest if name == "utf-8" else _as_utf8(rest, name), "utf-8")
    wide = _wide(head)
    if wide:
        guess = Guess("encoding", wide, "every other byte of the file is zero", "encoding")
        return Text(_as_utf8(data, wide), "utf-8", (guess,))
    data, notes = _without_padding(data)
    if _is_utf8(head):
        return Text(data, "utf-8", (), notes)
    guess = Guess("encoding", "Windows-1252", "the text is no valid UTF-8", "encoding")
    return Text(data, "cp1252", (guess,), notes)


def mended(text: str) -> str:
    """Undo UTF-8 that was read as Windows-1252 or Latin-1 and encoded again, once or more."""
    for _ in range(_MOST_TWICE):
        if text.isascii():
            return text
        for name in ("cp1252", "latin-1"):
            try:
                once = text.encode(name).decode("utf-8")
                break
            except UnicodeError:
                continue
        else:
            return text
        if once == text:
            return text
        text = once
    return text


def _as_utf8(data: memoryview, encoding: str) -> memoryview:
    try:
        text = codecs.decode(data, encoding, "replace")
    except (LookupError, UnicodeError, TypeError, ValueError) as error:
        raise InputError(f"encoding is '{encoding}'; it is not known: give utf-8, cp1252 or utf-16") from error
    if not isinstance(text, str):
        raise InputError(f"encoding is '{encoding}', which is none of text; give utf-8, cp1252 or utf-16")
    return memoryview(text.removeprefix("\ufeff").encode("utf-8", "replace"))


def _wide(head: bytes) -> str:
    """Return which UTF-16 a text without a mark is in, empty when in none."""
    pairs = min(len(head), 4000) // 2
    even, odd = head[0 : 2 * pairs : 2].count(0), head[1 : 2 * pairs : 2].count(0)
    if odd > 0.6 * pairs and even < 0.1 * pairs:
        return "utf-16-le"
    return "utf-16-be" if even > 0.6 * pairs and odd < 0.1 * pairs else ""


def _is_utf8(head: bytes) -> bool:
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return False
    return True


def _without_padding(data: memoryview) -> tuple[memoryview, tuple[str, ...]]:
    end = data.nbytes
    while end and data[end - 1] == 0:
        block = bytes(data[max(0, end - _LOOKED_AT) : end])
        end -= len(block) - len(block.rstrip(b"\x00"))
    if end == data.nbytes:
        return data, ()
    return data[:end], (f"the file ends in {data.nbytes - end} zero bytes: it was not closed when it was copied",)
