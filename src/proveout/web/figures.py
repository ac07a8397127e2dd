"""Numbers, money and times as the shop writes them."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from babel.dates import format_date, format_datetime
from jinja2 import pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.money import money_text
from proveout.instruments.display import engineering
from proveout.web.languages import SOURCE, mark, words_of
from proveout.web.shop_settings import ShopSettings

__all__ = ["FILTERS", "as_the_shop_writes"]

# A number with a decimal point that is no part of a name, a version or an address.
_NUMBER = re.compile(r"(?<![\w.,])(?P<whole>\d{1,3}(?:,\d{3})+|\d+)(?P<part>\.\d+)?(?![\w,]*[.,]?\d)")
_BOTH = re.compile(r"(?P<si>-?[\d.]+ [kM]?Pa) \((?P<us>-?[\d.]+ inHg)\)")
_CELSIUS = re.compile(r"(?<![\w.])(?P<value>-?\d+(?:\.\d+)?) °?C\b(?!/)")
_KILOPASCAL = re.compile(r"(?<![\w.])(?P<value>-?\d+(?:\.\d+)?) kPa\b")
_INCH_OF_MERCURY, _PSI = 3.386389, 6.894757  # kilopascal: NIST SP 811, table B.8, from memory
_GAUGED = 120.0  # kPa; US gauges show air and vacuum in inches of mercury, more than that in psi: common practice
_LONG, _HOUR = 120, 60
_UNDER, _OVER = mark("under"), mark("over")


def as_the_shop_writes(text: str, settings: ShopSettings) -> str:
    """Return a text with its temperatures and pressures in the shop's units, its numbers in the shop's decimal sign.

    Only readers' text is written so; what a person typed, names and codes are shown as they are.
    """
    if settings.units == "us":
        text = _BOTH.sub(lambda found: found["us"], text)
        text = _KILOPASCAL.sub(lambda found: _pressure(float(found["value"])), text)
        text = _CELSIUS.sub(lambda found: f"{float(found['value']) * 1.8 + 32.0:.0f} °F", text)
    else:
        text = _BOTH.sub(lambda found: found["si"], text)
    if settings.decimal == ".":
        return text
    return _NUMBER.sub(
        lambda found: found["whole"].replace(",", "\u202f") + (found["part"] or "").replace(".", ","), text
    )


def _pressure(kilopascal: float) -> str:
    if abs(kilopascal) < _GAUGED:
        return f"{kilopascal / _INCH_OF_MERCURY:.1f} inHg"
    return f"{kilopascal / _PSI:.1f} psi"


@pass_context
def figures(context: Context, text: Any) -> str:
    """Return a text of a lower layer with its numbers as the shop writes them.

    Such texts are English; on a page in another language they are marked as such (WCAG 2.2, 3.1.2).
    """
    written = as_the_shop_writes(str(text), context["settings"])
    if context["language"] == SOURCE or not any(sign.isalpha() for sign in written):
        return written
    return Markup('<span lang="{}">{}</span>').format(SOURCE, written)


@pass_context
def money(context: Context, amount: float, currency: str = "") -> str:
    """Return money as the shop writes it."""
    return as_the_shop_writes(money_text(amount, currency), context["settings"])


@pass_context
def chance(context: Context, share: float) -> str:
    """Return a probability as the shop writes it."""
    text = as_the_shop_writes(chance_text(share), context["settings"])
    words = words_of(context["language"])
    for bound in (_UNDER, _OVER):
        text = text.replace(bound, words.gettext(bound))
    return text


@pass_context
def minutes(context: Context, amount: float) -> str:
    """Return working time: minutes, and hours beside them where it is long."""
    text = f"{amount:.1f}".removesuffix(".0") if amount < 10 else f"{amount:.0f}"
    if amount < _LONG:
        return as_the_shop_writes(f"{text} min", context["settings"])
    hours, rest = divmod(round(amount), _HOUR)
    return f"{hours} h {rest} min"


@pass_context
def day(context: Context, at: str) -> str:
    """Return the day of a time in ISO 8601, on this machine's clock."""
    return format_date(datetime.fromisoformat(at).astimezone().date(), "medium", context["language"])


@pass_context
def moment(context: Context, at: str) -> str:
    """Return day and time of a time in ISO 8601, on this machine's clock."""
    return format_datetime(datetime.fromisoformat(at).astimezone(), "medium", locale=context["language"])


@pass_context
def quantity(context: Context, value: float, unit: str = "") -> str:
    """Return a measured quantity with its unit as the shop writes it; a speed of rotation in rpm."""
    if unit == "turn/s":
        text = f"{60.0 * value:.4g} rpm"
    else:
        text = engineering(value, unit) if unit and unit != "1" else f"{value:.4g}"
    return as_the_shop_writes(text, context["settings"])


@pass_context
def precise(context: Context, value: float, unit: str = "") -> str:
    """Return what a cursor reads: seven figures, for times and levels that lie close together."""
    return as_the_shop_writes(f"{value:.7g} {unit}".rstrip(), context["settings"])


FILTERS = {
    "precise": precise,
    "figures": figures,
    "quantity": quantity,
    "money": money,
    "chance": chance,
    "minutes": minutes,
    "day": day,
    "moment": moment,
}
