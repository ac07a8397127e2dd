"""How the shop wants things written, and what it charges: one small file beside the case store."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from proveout.errors import StoreError

__all__ = ["ShopSettings", "read_settings", "write_settings"]


class ShopSettings(BaseModel):
    """The shop's settings.

    `units`: `si` or `us`, for temperatures, pressures and lengths; `decimal`: the decimal sign; `language`: empty
    follows the browser; `labour_rate` money an hour, `wrong_repair` money that a repair which does not help costs on
    top of itself; `paper` of reports.
    """

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)

    units: Literal["si", "us"] = "si"
    decimal: Literal[".", ","] = "."
    language: Annotated[str, Field(max_length=12)] = ""
    currency: Annotated[str, Field(max_length=12)] = ""
    labour_rate: Annotated[float, Field(ge=0, le=1e6)] = 90.0
    wrong_repair: Annotated[float, Field(ge=0, le=1e7)] = 150.0
    shop: Annotated[str, Field(max_length=200)] = ""
    technician: Annotated[str, Field(max_length=200)] = ""
    paper: Literal["a4", "letter"] = "a4"


def read_settings(path: Path) -> ShopSettings:
    """Return the settings of a file, the ordinary ones when there is none yet.

    Raises
    ------
    StoreError
        The file cannot be read or is damaged.
    """
    try:
        changed = path.stat().st_mtime_ns
    except FileNotFoundError:
        return ShopSettings()
    return _read(path, changed)


def write_settings(path: Path, settings: ShopSettings) -> None:
    """Keep settings in a file; StoreError when it cannot be written."""
    aside = path.with_name(path.name + ".new")
    try:
        aside.write_text(settings.model_dump_json(indent=2) + "\n", encoding="utf-8")
        aside.replace(path)
    except OSError as error:
        raise StoreError(f"{path}: the settings cannot be kept ({error.strerror}); free some space") from error


@lru_cache(maxsize=4)
def _read(path: Path, changed: int) -> ShopSettings:
    try:
        return ShopSettings.model_validate_json(path.read_text(encoding="utf-8"))
    except (OSError, ValidationError) as error:
        raise StoreError(f"{path}: the shop's settings cannot be read; put the file right or remove it") from error
