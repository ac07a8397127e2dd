"""Shapes of a drawing, the room that text takes, and the SVG text made of them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

__all__ = [
    "FONT",
    "Box",
    "Circle",
    "Picture",
    "Polygon",
    "Polyline",
    "Shape",
    "Text",
    "clean",
    "text_width",
    "to_svg",
    "wrap",
]

FONT = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"

# Advance widths in em of DejaVu Sans, rounded up: the widest of the usual sans-serif fonts, so no other one overflows.
_WIDTHS = {
    character: width
    for width, characters in (
        (0.30, "'IJijl"),
        (0.35, " \u00a0,./:;\\|"),
        (0.40, "()-[]ft²"),
        (0.45, "!r"),
        (0.50, '"*_`°–'),
        (0.55, "?csz"),
        (0.60, "FLkvxy"),
        (0.65, "$0123456789EPSTYabdeghnopqu{}µ"),
        (0.70, "ABCKRVXZ"),
        (0.75, "NU"),
        (0.80, "&DGHOQΩ"),
        (0.85, "#+<=>^w~×≤≥±→"),
        (0.90, "M"),
    )
    for character in characters
}
_WIDEST = 1.0
_BOLD = 1.13
_BREAKS = re.compile(r"[ \t\n\r\f\v]+")
_UNIT = re.compile(r"(\d) ((?:[mkMµ]?[VAΩ]|C|°C|min|%|mm²)\b)")
_UNPRINTABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Box:
    """A rectangle, y downwards."""

    x0: float
    y0: float
    x1: float
    y1: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def contains(self, other: Box) -> bool:
        """Whether the other lies inside."""
        return self.x0 <= other.x0 and self.y0 <= other.y0 and self.x1 >= other.x1 and self.y1 >= other.y1


@dataclass(frozen=True)
class Text:
    """One line of text; `y` is its baseline."""

    x: float
    y: float
    text: str
    size: float = 11.0
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = "#111"
    backed: bool = False
    """Whether a white edge is drawn around the letters."""

    @property
    def box(self) -> Box:
        """The room it takes, by the widest usual font."""
        width = text_width(self.text, self.size, bold=self.bold)
        x0 = self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return Box(x0, self.y - 0.76 * self.size, x0 + width, self.y + 0.24 * self.size)


@dataclass(frozen=True)
class Polyline:
    """A line through points; `role` says what it stands for ('wire', 'lead', 'symbol'), `net` whose wire it is."""

    points: tuple[tuple[float, float], ...]
    colour: str = "#111"
    width: float = 1.3
    dash: str = ""
    role: str = "symbol"
    net: str = ""
    cap: Literal["butt", "round"] = "butt"


@dataclass(frozen=True)
class Polygon:
    """A closed shape through points."""

    points: tuple[tuple[float, float], ...]
    fill: str = "none"
    colour: str = "#111"
    width: float = 1.3
    dash: str = ""
    radius: float = 0.0


@dataclass(frozen=True)
class Circle:
    """A circle."""

    x: float
    y: float
    radius: float
    fill: str = "none"
    colour: str = "#111"
    width: float = 1.3
    dash: str = ""


Shape = Text | Polyline | Polygon | Circle


@dataclass(frozen=True)
class Picture:
    """A drawing: size in pixels, a title and a sentence for who cannot see it, and its shapes from back to front."""

    width: float
    height: float
    title: str
    about: str
    shapes: tuple[Shape, ...] = field(default_factory=tuple)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of `text` [px] at `size` [px], never less than the usual sans-serif fonts need."""
    return sum(_WIDTHS.get(character, _WIDEST) for character in text) * size * (_BOLD if bold else 1.0)


def wrap(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Break `text` into lines no wider than `width` [px] at `size` [px]; a word that is too long is cut.

    A number stays with its unit.
    """
    lines: list[str] = []
    line = ""
    for word in _pieces(_BREAKS.split(_bound(text)), width, size, bold):
        longer = f"{line} {word}" if line else word
        if line and text_width(longer, size, bold=bold) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


def _bound(text: str) -> str:
    return _UNIT.sub("\\1\u00a0\\2", text.strip())


def _pieces(words: Iterable[str], width: float, size: float, bold: bool) -> Iterable[str]:
    for word in words:
        rest = word
        while text_width(rest, size, bold=bold) > width and len(rest) > 1:
            fits = [n for n in range(1, len(rest)) if n == 1 or text_width(rest[:n], size, bold=bold) <= width]
            joints = [n for n in fits if rest[n - 1] in "-/,"]
            cut = (joints or fits)[-1]
            yield rest[:cut]
            rest = rest[cut:]
        yield rest


def clean(text: str) -> str:
    """Return `text` without the characters that no XML or HTML document may hold."""
    return _UNPRINTABLE.sub("\ufffd", text)


def to_svg(picture: Picture) -> str:
    """Return the picture as a self-contained SVG document without scripts; the same picture gives the same text."""
    size = f'width="{_n(picture.width)}" height="{_n(picture.height)}"'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {_n(picture.width)} {_n(picture.height)}"'
        f' role="img" font-family={quoteattr(FONT)}>'
        f"<title>{_text(picture.title)}</title><desc>{_text(picture.about)}</desc>"
        f'<rect width="{_n(picture.width)}" height="{_n(picture.height)}" fill="#fff"/>'
    )
    return "\n".join([head, *(_shape(shape) for shape in picture.shapes), "</svg>\n"])


def _shape(shape: Shape) -> str:
    match shape:
        case Text():
            return _text_element(shape)
        case Polyline():
            cap = ' stroke-linecap="round"' if shape.cap == "round" else ""
            return f'<polyline points="{_points(shape.points)}" fill="none"{_pen(shape)} stroke-linejoin="round"{cap}/>'
        case Polygon():
            return _polygon(shape)
        case Circle():
            at = f'cx="{_n(shape.x)}" cy="{_n(shape.y)}" r="{_n(shape.radius)}"'
            return f'<circle {at} fill="{shape.fill}"{_pen(shape)}/>'


def _text_element(text: Text) -> str:
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    bold = ' font-weight="bold"' if text.bold else ""
    backed = ' stroke="#fff" stroke-width="3" paint-order="stroke" stroke-linejoin="round"' if text.backed else ""
    place = f'x="{_n(text.x)}" y="{_n(text.y)}" font-size="{_n(text.size)}"'
    return f'<text {place} fill="{text.colour}"{anchor}{bold}{backed}>{_text(text.text)}</text>'


def _polygon(shape: Polygon) -> str:
    if shape.radius and len(shape.points) == 4:
        (x0, y0), (x1, y1) = shape.points[0], shape.points[2]
        size = f'width="{_n(x1 - x0)}" height="{_n(y1 - y0)}" rx="{_n(shape.radius)}"'
        return f'<rect x="{_n(x0)}" y="{_n(y0)}" {size} fill="{shape.fill}"{_pen(shape)}/>'
    return f'<polygon points="{_points(shape.points)}" fill="{shape.fill}"{_pen(shape)} stroke-linejoin="round"/>'


def _pen(shape: Polyline | Polygon | Circle) -> str:
    dash = f' stroke-dasharray="{shape.dash}"' if shape.dash else ""
    return f' stroke="{shape.colour}" stroke-width="{_n(shape.width)}"{dash}'


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"


def _text(text: str) -> str:
    return escape(clean(text))
