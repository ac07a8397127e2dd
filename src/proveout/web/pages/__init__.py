"""The pages: each module is one of them and lists its routes."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from starlette.routing import Route

from . import (
    captures,
    case,
    case_forms,
    cases,
    chart,
    circuits,
    language,
    new_case,
    practice,
    report,
    settings,
    sheet_editor,
)

__all__ = ["LARGER_BODIES", "ROUTES"]

ROUTES: Sequence[Route] = (
    *cases.ROUTES,
    *case.ROUTES,
    *case_forms.ROUTES,
    *new_case.ROUTES,
    *captures.ROUTES,
    *chart.ROUTES,
    *report.ROUTES,
    *circuits.ROUTES,
    *sheet_editor.ROUTES,
    *practice.ROUTES,
    *settings.ROUTES,
    *language.ROUTES,
)
LARGER_BODIES: Mapping[str, int] = MappingProxyType({"/captures": captures.LARGEST_FILE})
"""Beginning of a path: bytes that may be sent there; everywhere else the ordinary limit holds."""
