"""Captures that are kept: the original bytes unaltered, the samples ready to be mapped into memory."""

from proveout.captures.archive.archive import Archive

__all__ = ["Archive"]
