"""Against what a typed pressure is meant: perfect vacuum, the surrounding air, or below the surrounding air.

A vacuum gauge is marked in inches or millimetres of mercury below the air around it, and `20 inHg` at a vacuum tee
means that. `80 kPa` there can be eighty below the air or eighty left of it: it is asked about, never guessed.
"""

from __future__ import annotations

import re
from enum import Enum

from proveout.errors import InputError, RangeError, UnitError

__all__ = ["Reference", "above_air", "below_air", "check_vacuum", "split_reference"]

_WORDS = re.compile(
    r"(?P<unit>.*?)[ -]*\b(?P<word>vacuum|vac|below|absolute|abs|gauge|gage|rel|relative)\b\.?$", re.IGNORECASE
)
_SUFFIXED = re.compile(r"(?P<unit>psi|bar|mbar|kpa)(?P<word>[agv])$", re.IGNORECASE)
_OF_MERCURY = re.compile(r'(inhg|"hg|inch(es)? ?of ?mercury|inchhg|mmhg|torr|inh2o|"h2o)', re.IGNORECASE)
_SURE = 1.005  # share of the air's pressure that weather and a gauge's own error may add


class Reference(Enum):
    """What a pressure is counted from."""

    ABSOLUTE = "absolute"
    GAUGE = "gauge"
    VACUUM = "vacuum"


_MEANT = {"v": Reference.VACUUM, "b": Reference.VACUUM, "a": Reference.ABSOLUTE, "g": Reference.GAUGE}


def split_reference(unit: str) -> tuple[str, Reference | None]:
    """Take the word that says the reference off a typed unit: `kPa abs`, `inHg vacuum`, `psig`; None where none does.

    Inches and millimetres of mercury and inches of water are read as a vacuum where nothing else is said.
    """
    text = unit.strip()
    match = _WORDS.fullmatch(text) or _SUFFIXED.fullmatch(text)
    if match is not None:
        return match["unit"], _MEANT.get(match["word"][0].lower(), Reference.GAUGE)
    compact = "".join(text.split())
    return text, Reference.VACUUM if _OF_MERCURY.fullmatch(compact) else None


def below_air(value: float, reference: Reference | None, typed: str, air: float | None) -> float:
    """Return how far a typed pressure is below the surrounding air [Pa].

    Parameters
    ----------
    value : float [Pa]
    reference : Reference, optional
        None: nothing was said; a negative value is then below the air, a positive one is asked about.
    typed : str
        For messages.
    air : float [Pa], optional
        Pressure of the surrounding air, where it is known.

    Raises
    ------
    UnitError
        It is not clear against what the value is meant.
    InputError
        It is absolute, and the pressure of the air is not known.
    """
    if reference is Reference.VACUUM:
        return abs(value)
    if reference is Reference.GAUGE or (reference is None and value < 0.0):
        return -value
    if reference is Reference.ABSOLUTE:
        return _known(air, typed) - value
    raise UnitError(
        f"'{typed}' can be a vacuum (that far below the air) or an absolute pressure (what is left): write "
        f"'{typed} vacuum' or '{typed} absolute'"
    )


def above_air(value: float, reference: Reference | None, typed: str, air: float | None) -> float:
    """Return how far a typed pressure is above the surrounding air [Pa]; what a pressure gauge shows is just that."""
    if reference is Reference.ABSOLUTE:
        return value - _known(air, typed)
    return -abs(value) if reference is Reference.VACUUM else value


def check_vacuum(vacuum: float, typed: str, air: float | None) -> None:
    """Refuse a vacuum deeper than the whole air at this place; RangeError names both."""
    if air is not None and vacuum > air * _SURE:
        raise RangeError(
            f"'{typed}' is a vacuum of {vacuum / 1e3:.1f} kPa, and all the air at this altitude has is "
            f"{air / 1e3:.1f} kPa ({air / 3386.389:.1f} inHg): check the gauge's unit, or the altitude that this case "
            "was opened with"
        )


def _known(air: float | None, typed: str) -> float:
    if air is None:
        raise InputError(
            f"'{typed}' is absolute, and the pressure of the air here is not known: type the gauge's value"
        )
    return air
