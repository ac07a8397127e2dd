"""Wire colours: the codes of IEC 60757, their names, and the wire drawn as its stripes."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.reports.svg import Polyline

__all__ = ["COLOURS", "Points", "colour_name", "striped"]

# Codes and names: IEC 60757 (from memory); the screen colours are our own choice.
COLOURS: dict[str, tuple[str, str]] = {
    "BK": ("black", "#222222"),
    "BN": ("brown", "#8b5a2b"),
    "RD": ("red", "#d62828"),
    "OG": ("orange", "#f28c1e"),
    "YE": ("yellow", "#f5d90a"),
    "GN": ("green", "#2a9d3e"),
    "BU": ("blue", "#2563c9"),
    "VT": ("violet", "#8246af"),
    "GY": ("grey", "#9aa0a6"),
    "WH": ("white", "#ffffff"),
    "PK": ("pink", "#f49ac1"),
    "TQ": ("turquoise", "#30c5c0"),
    "SR": ("silver", "#c9ced3"),
    "GD": ("gold", "#cfa52c"),
}

EDGE_WIDTH, BASE_WIDTH, STRIPE_WIDTH = 8.0, 6.4, 2.3
OVER = 0.4
Points = tuple[tuple[float, float], ...]


def colour_name(code: str) -> str:
    """Return the name of one colour code."""
    return COLOURS[code][0]


def striped(lines: Sequence[Points], colours: Sequence[str], net: str = "") -> list[Polyline]:
    """Return the lines of one net as drawn: a dark edge, the base colour, then each stripe along the line.

    A net without a colour is a plain line. Ends reach a little over, so that pieces of one wire show no seam.
    """
    if not colours:
        return [Polyline(points, role="wire", net=net) for points in lines]
    layers = [("#333", EDGE_WIDTH, ""), (COLOURS[colours[0]][1], BASE_WIDTH, "")]
    layers += [(COLOURS[code][1], STRIPE_WIDTH, dash) for code, dash in zip(colours[1:], ("", "8 8"), strict=False)]
    return [
        Polyline(_longer(points, OVER), colour, width, dash, role="wire", net=net)
        for colour, width, dash in layers
        for points in lines
    ]


def _longer(points: Points, over: float) -> Points:
    """Return the line with both ends moved outwards along it."""
    (a, b), (c, d) = points[0], points[1]
    start = (a - over * _sign(c - a), b - over * _sign(d - b))
    (e, f), (g, h) = points[-2], points[-1]
    end = (g + over * _sign(g - e), h + over * _sign(h - f))
    return (start, *points[1:-1], end)


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)
