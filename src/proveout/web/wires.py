"""A short piece of wire as it looks, beside the code of its colours."""

from __future__ import annotations

from markupsafe import Markup

from proveout.circuits.colours import parse_colours
from proveout.reports.schematic.colours import BASE_WIDTH, COLOURS, EDGE_WIDTH, STRIPE_WIDTH

__all__ = ["wire_picture"]

_LINE = Markup('<line x1="2" y1="7" x2="62" y2="7" stroke="{}" stroke-width="{}"{}></line>')
_DASHED = Markup(' stroke-dasharray="8 8"')


def wire_picture(codes: str) -> Markup:
    """Return a drawing of a wire by its colour codes (`RD/WH`), nothing without them; the codes stand beside it."""
    if not codes:
        return Markup("")
    base, *stripes = parse_colours(codes)
    layers = [("#333", EDGE_WIDTH + 2, ""), (COLOURS[base][1], BASE_WIDTH + 2, "")]
    layers += [(COLOURS[c][1], STRIPE_WIDTH + 0.7, dash) for c, dash in zip(stripes, ("", _DASHED), strict=False)]
    lines = Markup("").join(_LINE.format(*layer) for layer in layers)
    return Markup('<svg class="wire" viewBox="0 0 64 14" aria-hidden="true" focusable="false">{}</svg>').format(lines)
