"""The analyses of a capture in words: each takes a capture under study and yields findings, marks, and what is open."""

from proveout.captures.studies.analysis_entry import Analysis, Found

__all__ = ["Analysis", "Found"]
