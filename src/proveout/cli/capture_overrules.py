"""The options with which a guess about a recorded file is overruled."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, TypeVar

import click

from proveout.captures.readers import TIME_UNITS, ChannelOverrule, Overrules
from proveout.cli.options import pairs

__all__ = ["channel_roles", "clamp_scale", "with_overrules"]

Command = TypeVar("Command", bound=Callable[..., Any])

_CLAMP = re.compile(r"\s*(?P<number>[0-9.]+(?:[eE][+-]?\d+)?)\s*(?P<unit>A/V|A/mV|mV/A|V/A)?\s*")
_AMPERE_PER_VOLT: Mapping[str, Callable[[float], float]] = {
    "A/V": lambda scale: scale,
    "A/mV": lambda scale: 1e3 * scale,
    "V/A": lambda scale: 1 / scale,
    "mV/A": lambda scale: 1e3 / scale,
}
_SIGNS = {"tab": "\t", "comma": ",", "semicolon": ";", "bar": "|", "space": " ", "point": "."}

_OPTIONS = (
    click.option("--rate", type=float, metavar="HZ", help="Samples per second; time stamps are then not used."),
    click.option("--time-unit", type=click.Choice(list(TIME_UNITS)), help="Unit of the time column."),
    click.option("--time-column", metavar="NAME", help="Column that holds the time; 'none' where no column does."),
    click.option(
        "--delimiter", metavar="SIGN", help="Sign between cells: a sign, or tab, comma, semicolon, bar, space."
    ),
    click.option("--decimal", metavar="SIGN", help="Decimal sign: point or comma."),
    click.option("--encoding", metavar="NAME", help="Encoding of the text: utf-8, utf-16, cp1252."),
    click.option("--holds/--sampled", "holds", default=None, help="A value holds until the next one, or is a sample."),
    click.option("--blanks", type=click.Choice(["gap", "absent"]), help="An empty cell: a lost sample, or none due."),
    click.option("--unit", multiple=True, metavar="CH=UNIT", help="Unit of the numbers in the file; repeatable."),
    click.option("--rename", multiple=True, metavar="CH=NAME", help="Another name for a channel; repeatable."),
    click.option("--attenuation", multiple=True, metavar="CH=10", help="Probe attenuation to multiply by; repeatable."),
    click.option("--clamp", multiple=True, metavar="CH=SCALE", help="Current clamp: 10mV/A or 100A/V; repeatable."),
    click.option("--full-scale", multiple=True, metavar="CH=20", help="What full scale stands for; repeatable."),
    click.option("--role", multiple=True, metavar="CH=ROLE", help="What a channel records; repeatable."),
)


def with_overrules(command: Command) -> Command:
    """Add the options; the command takes `overrules` and `roles`, by the names of the file."""

    @wraps(command)
    def wrapped(
        *arguments: Any,
        delimiter: str | None,
        decimal: str | None,
        unit: tuple[str, ...],
        rename: tuple[str, ...],
        attenuation: tuple[str, ...],
        clamp: tuple[str, ...],
        full_scale: tuple[str, ...],
        role: tuple[str, ...],
        **rest: Any,
    ) -> Any:
        file_wide = {key: rest.pop(key) for key in ("rate", "time_unit", "time_column", "encoding", "holds", "blanks")}
        said: dict[str, dict[str, Any]] = {}
        texts = {"unit": unit, "name": rename, "attenuation": attenuation, "clamp": clamp, "full_scale": full_scale}
        for key, given in texts.items():
            for channel, text in pairs(given, "CHANNEL=VALUE").items():
                said.setdefault(channel, {})[key] = _value(key, text)
        overrules = Overrules(
            **file_wide,
            delimiter=_SIGNS.get(delimiter or "", delimiter),
            decimal=_SIGNS.get(decimal or "", decimal),
            channels={channel: ChannelOverrule(**values) for channel, values in said.items()},
        )
        return command(*arguments, overrules=overrules, roles=pairs(role, "CHANNEL=ROLE"), **rest)

    for option in reversed(_OPTIONS):
        wrapped = option(wrapped)
    return wrapped  # type: ignore[return-value]  # the options are taken up on the way


def channel_roles(roles: Mapping[str, str], overrules: Overrules) -> dict[str, str]:
    """Return roles by the names that channels have after renaming."""
    return {overrules.of(channel).name or channel: role for channel, role in roles.items()}


def clamp_scale(text: str) -> float:
    """Return the scale of a current clamp [A/V] from `10mV/A`, `100 A/V` or a bare number of A/V.

    Raises
    ------
    click.UsageError
        It is none.
    """
    found = _CLAMP.fullmatch(text)
    number = float(found["number"]) if found and found["number"].count(".") <= 1 and found["number"] != "." else 0.0
    if found is None or not number > 0:
        raise click.UsageError(f"'{text}' is no scale of a current clamp: write 10mV/A or 100A/V")
    return _AMPERE_PER_VOLT[found["unit"] or "A/V"](number)


def _value(key: str, text: str) -> str | float:
    if key in ("unit", "name"):
        return text
    if key == "clamp":
        return clamp_scale(text)
    try:
        return float(text.removesuffix(":1"))
    except ValueError as error:
        raise click.UsageError(f"'{text}' is no number for --{key.replace('_', '-')}: write 10") from error
