"""The vehicle identification number and its check digit.

Sources: ISO 3779 (17 characters, no I, O, Q); 49 CFR 565.15 (c) (check digit in position 9, tables III to V).
"""

from __future__ import annotations

from proveout.errors import InputError

__all__ = ["check_applies", "check_digit", "read_identification"]

_LENGTH = 17
_FIRST_YEAR = 1981
# 49 CFR 565.15, table III (letters) and table IV (weights; the check digit's own place weighs nothing).
_SIGNS, _NUMBERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ", "012345678912345678123457923456789"
_VALUES = {sign: int(number) for sign, number in zip(_SIGNS, _NUMBERS, strict=True)}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
# Region 1 to 5 is North America, where the check digit is law; elsewhere position 9 is the maker's own.
_CHECKED_REGIONS = frozenset("12345")


def check_digit(number: str) -> str:
    """Return the character that belongs in position 9: the weighted sum modulo 11, X for ten."""
    rest = sum(weight * _VALUES[sign] for weight, sign in zip(_WEIGHTS, number, strict=True)) % 11
    return "X" if rest == 10 else str(rest)


def check_applies(number: str) -> bool:
    """Say whether position 9 of a number is a check digit by law: on numbers of North America."""
    return number[:1] in _CHECKED_REGIONS


def read_identification(text: str, year: int | None = None) -> str:
    """Return the number in capitals and without spaces, when it can be one.

    Raises
    ------
    InputError
        Wrong length or characters, or a wrong check digit where the check digit applies. Numbers of vehicles made
        before 1981 followed no common rule and are taken as they are.
    """
    number = "".join(text.split()).replace("-", "").upper()
    if year is not None and year < _FIRST_YEAR:
        return number
    if len(number) != _LENGTH:
        raise InputError(
            f"identification number '{number}' has {len(number)} characters and must have {_LENGTH} (ISO 3779): read "
            f"it again, or give the model year when the vehicle was made before {_FIRST_YEAR}"
        )
    wrong = next((sign for sign in number if sign not in _VALUES), None)
    if wrong is not None:
        raise InputError(
            f"identification number '{number}' holds '{wrong}', which ISO 3779 does not allow (no I, O or Q): "
            "read it again"
        )
    if check_applies(number) and number[8] != check_digit(number):
        raise InputError(
            f"identification number '{number}' has {number[8]} in position 9, where its other characters ask for "
            f"{check_digit(number)} (49 CFR 565): one character is wrong, read it again"
        )
    return number
