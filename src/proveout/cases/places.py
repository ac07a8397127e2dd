"""Where cases and compiled circuits are kept when nothing else was asked for."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_cache_path, user_data_path

__all__ = ["cache_folder", "store_file"]

_APP = "proveout"


def store_file() -> Path:
    """Return the file of the case store in the user's data folder."""
    return user_data_path(_APP) / "cases.db"


def cache_folder() -> Path:
    """Return the folder of compiled circuits in the user's cache folder."""
    return user_cache_path(_APP) / "circuits"
