"""The archive of captures in one folder.

`originals/` holds each file as it came, under its SHA-256; `samples/` what was read from it, which can be made anew
at any time.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path

from proveout.captures.archive.described import LONG, open_capture, pyramid_file, write_capture
from proveout.captures.archive.safely import new_file, new_folder, said_clearly
from proveout.captures.capture import Capture
from proveout.captures.pyramid import Pyramid, build, open_pyramid
from proveout.captures.readers import Overrules, read
from proveout.captures.readers.source import Source, open_source
from proveout.errors import InputError, StoreError

__all__ = ["Archive"]

_DECODING = 1  # raised when readers give other samples than before, so that what was kept is read anew
_PIECE = 1 << 22


@dataclass(frozen=True)
class Archive:
    """Captures in a folder, which is made when the first one is attached."""

    folder: Path

    def attach(
        self, given: Path | str | bytes, overrules: Overrules | None = None, *, name: str | None = None
    ) -> Capture:
        """Keep a file and what can be read from it; the same bytes a second time change nothing.

        Returns
        -------
        Capture
            Its samples are mapped from the archive.

        Raises
        ------
        InputError
            The file cannot be read; nothing is kept then.
        StoreError
            The archive cannot be written; what it held before is as it was.
        """
        source = open_source(given, name)
        sha256 = source.sha256()
        overrules = overrules or Overrules()
        if not self._samples(sha256, overrules).is_dir():
            capture = read(given, overrules, name=source.name)
            with said_clearly(self.folder):
                self._keep_original(source, sha256)
                new_folder(self._samples(sha256, overrules), lambda folder: write_capture(capture, folder))
        elif not self.original(sha256).is_file():
            with said_clearly(self.folder):
                self._keep_original(source, sha256)
        return open_capture(self._samples(sha256, overrules))

    def open(self, sha256: str, overrules: Overrules | None = None) -> Capture:
        """Return a capture that was attached, read anew where it was not read in this way before.

        Raises
        ------
        StoreError
            It was not attached, or its original is not what was attached.
        """
        overrules = overrules or Overrules()
        folder = self._samples(sha256, overrules)
        if folder.is_dir():
            return open_capture(folder)
        return self.attach(self.checked(sha256), overrules)

    def original(self, sha256: str) -> Path:
        """Return the place of the bytes with this fingerprint, whether they are there or not.

        Raises
        ------
        InputError
            It is no SHA-256.
        """
        if len(sha256) != 64 or set(sha256) - set("0123456789abcdef"):
            raise InputError(f"'{sha256[:80]}' is no SHA-256; it has 64 digits 0 to 9 and a to f")
        return self.folder / "originals" / sha256[:2] / sha256

    def checked(self, sha256: str) -> Path:
        """Return the file with this fingerprint after its bytes were compared with it.

        Raises
        ------
        StoreError
            It is not there, or was altered.
        """
        path = self.original(sha256)
        try:
            with path.open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise StoreError(f"the capture {sha256[:12]} is not in '{self.folder}'; attach its file") from error
        if found != sha256:
            raise StoreError(f"'{path}' was altered: its SHA-256 is {found[:12]} now; restore it from a copy")
        return path

    def pyramid(self, capture: Capture, channel: str, overrules: Overrules | None = None) -> Pyramid:
        """Return the extremes of a channel of an attached capture, mapped where they are kept.

        Raises
        ------
        InputError
            There is no such channel.
        """
        found = capture.channel(channel)
        if found.samples.size < LONG:
            return build(found.samples)
        place = [kept.name for kept in capture.channels].index(channel)
        folder = self._samples(capture.origin.sha256, overrules or Overrules())
        try:
            return open_pyramid(found.samples, folder / pyramid_file(place))
        except StoreError:
            return build(found.samples)

    def _samples(self, sha256: str, overrules: Overrules) -> Path:
        said = asdict(overrules) | {"channels": {name: asdict(said) for name, said in overrules.channels.items()}}
        text = json.dumps([_DECODING, said], sort_keys=True)
        self.original(sha256)
        return self.folder / "samples" / f"{sha256}-{hashlib.sha256(text.encode()).hexdigest()[:16]}"

    def _keep_original(self, source: Source, sha256: str) -> None:
        path = self.original(sha256)
        if path.is_file() and path.stat().st_size == source.size:
            return
        new_file(path, lambda partial: _write_bytes(source, partial))


def _write_bytes(source: Source, path: Path) -> None:
    with path.open("wb") as file:
        for start in range(0, source.size, _PIECE):
            file.write(source.data[start : start + _PIECE])
