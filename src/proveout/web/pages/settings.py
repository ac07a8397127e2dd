"""The shop's settings: units, decimal sign, money, names, paper, language."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError
from starlette.responses import Response

from proveout.errors import InputError
from proveout.web.asked import Asked, page, posted
from proveout.web.languages import language_names
from proveout.web.shop_settings import ShopSettings

__all__ = ["ROUTES"]

_AMOUNTS = ("labour_rate", "wrong_repair")


def show_settings(asked: Asked) -> Response:
    """Show the settings as they are."""
    return _form(asked, asked.settings.model_dump(), {}, done=bool(asked.text("kept")))


def keep_settings(asked: Asked) -> Response:
    """Keep the settings, or show them again with what is wrong."""
    typed = {name: asked.text(name) for name in ShopSettings.model_fields}
    fields: dict[str, object] = dict(typed)
    wrong: dict[str, str] = {}
    for name in _AMOUNTS:
        try:
            amount = asked.amount(name)
            fields[name] = ShopSettings.model_fields[name].default if amount is None else amount
        except InputError as error:
            wrong[name] = str(error)
    if typed["language"] and typed["language"] not in language_names():
        wrong["language"] = asked._("The page has no such language.")
    if not wrong:
        try:
            asked.bench.set_settings(ShopSettings.model_validate(fields))
            return asked.go("/settings?kept=yes")
        except ValidationError as error:
            wrong = {str(fault["loc"][0]): fault["msg"] for fault in error.errors()}
    return _form(asked, typed, wrong)


def _form(asked: Asked, values: Mapping[str, object], wrong: dict[str, str], *, done: bool = False) -> Response:
    twin = {"values": values, "wrong": wrong}
    return asked.show("settings.html", twin, status=422 if wrong else 200, more={"done": done})


ROUTES = (*page("/settings", show_settings), *posted("/settings", keep_settings))
