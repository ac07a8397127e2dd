"""One reading on its scale: what a sound vehicle shows, what the manual calls good, what was read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from proveout.errors import InputError
from proveout.reports.svg import Box, Picture, Polygon, Polyline, Shape, Text, text_width, to_svg

__all__ = ["ReadingStrip", "StripBand", "draw_reading_strip", "strip_picture"]

WIDTH = 470.0
LEFT, RIGHT = 14.0, 456.0
SCALE_LEFT, SCALE_RIGHT = 172.0, 416.0
ROW = 22.0
LABEL = 12.0
DECADES = 2.5
"""Above so many decades between the smallest and the largest value a resistance is drawn on a logarithmic scale."""
PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"))


@dataclass(frozen=True)
class StripBand:
    """A range with its name; None for an end that is open, `over_limit` where no continuity is what it means."""

    title: str
    low: float | None
    high: float | None
    over_limit: bool = False


@dataclass(frozen=True)
class ReadingStrip:
    """What one strip shows, in the reading's unit.

    `reading` is None where the meter showed over-limit. `faults` are bands under named faults.
    """

    title: str
    unit: str
    reading: float | None
    shown: str
    sound: StripBand | None = None
    limit: StripBand | None = None
    faults: tuple[StripBand, ...] = ()


def draw_reading_strip(strip: ReadingStrip) -> str:
    """Return the strip as SVG text.

    Raises
    ------
    InputError
        If a value is not a finite number, or a band's low end lies above its high end.
    """
    return to_svg(strip_picture(strip))


def strip_picture(strip: ReadingStrip) -> Picture:
    """Return the strip as shapes; raises as `draw_reading_strip`."""
    bands = [band for band in (strip.sound, strip.limit, *strip.faults) if band is not None]
    _check(strip, bands)
    scale = _Scale.of(strip, bands)
    shapes: list[Shape] = [Text(LEFT, 15.0, _fit(strip.title, RIGHT - LEFT, 12.5, bold=True), 12.5, bold=True)]
    y = 36.0
    for i, band in enumerate(bands):
        kind = "sound" if band is strip.sound else "limit" if band is strip.limit else "fault"
        shapes += _band(band, scale, y + ROW * i, kind)
    foot = y + ROW * len(bands) + 2.0
    shapes += _axis(scale, foot, strip.unit)
    shapes += _reading(strip, scale, y - 10.0, foot)
    about = f"{strip.title}: {strip.shown}"
    return Picture(WIDTH, foot + 46.0, strip.title, about, tuple(shapes))


def _check(strip: ReadingStrip, bands: list[StripBand]) -> None:
    values = [strip.reading, *(v for band in bands for v in (band.low, band.high))]
    for value in values:
        if value is not None and not math.isfinite(value):
            raise InputError(f"'{strip.title}' has the value {value}, which no scale can show; leave an open end empty")
    for band in bands:
        if band.low is not None and band.high is not None and band.low > band.high:
            raise InputError(
                f"band '{band.title}' runs from {band.low:g} to {band.high:g}; put the smaller value first"
            )


@dataclass(frozen=True)
class _Scale:
    low: float
    high: float
    logarithmic: bool

    @classmethod
    def of(cls, strip: ReadingStrip, bands: list[StripBand]) -> _Scale:
        """Return a scale on which every finite value of the strip has its place."""
        values = [v for band in bands for v in (band.low, band.high) if v is not None]
        values += [strip.reading] if strip.reading is not None else []
        values = values or [0.0, 1.0]
        positive = [v for v in values if v > 0]
        if min(values) >= 0 and positive and max(positive) / min(positive) > 10**DECADES:
            return cls(min(positive) / 3.0, max(positive) * 3.0, logarithmic=True)
        span = max(values) - min(values) or abs(max(values)) or 1.0
        return cls(min(values) - 0.12 * span, max(values) + 0.12 * span, logarithmic=False)

    def x(self, value: float) -> float:
        """Return the place of a value, at the scale's end where it lies beyond."""
        if self.logarithmic:
            share = (math.log(max(value, self.low)) - math.log(self.low)) / (math.log(self.high) - math.log(self.low))
        else:
            share = (value - self.low) / (self.high - self.low)
        return SCALE_LEFT + (SCALE_RIGHT - SCALE_LEFT) * min(max(share, 0.0), 1.0)

    def ticks(self) -> list[float]:
        """Return round values to be written under the scale."""
        if self.logarithmic:
            first, last = math.ceil(math.log10(self.low)), math.floor(math.log10(self.high))
            return [10.0**e for e in range(first, last + 1, max(1, round((last - first) / 4)))]
        rough = (self.high - self.low) / 4
        power = 10.0 ** math.floor(math.log10(rough))
        step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * 0.99)
        return [step * i for i in range(math.ceil(self.low / step), math.floor(self.high / step) + 1)]


def _band(band: StripBand, scale: _Scale, y: float, kind: str) -> list[Shape]:
    x0 = SCALE_LEFT if band.low is None else scale.x(band.low)
    x1 = SCALE_RIGHT if band.high is None else scale.x(band.high)
    if band.over_limit:
        x0, x1 = SCALE_RIGHT, SCALE_RIGHT + 24.0
    x1 = max(x1, x0 + 2.0)
    box = Box(x0, y - 6.0, x1, y + 6.0)
    shapes: list[Shape] = [Text(SCALE_LEFT - 10.0, y + 3.6, _fit(band.title), LABEL, "end")]
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    if kind == "sound":
        shapes.append(Polygon(corners, "#b7d7c4", "#2b6b47", 1.2))
    elif kind == "limit":
        shapes += [
            Polyline(((x0, y), (x1, y)), "#111", 2.0),
            *(Polyline(((x, y - 6.0), (x, y + 6.0)), "#111", 2.0) for x, end in _ends(band, x0, x1) if end),
        ]
    else:
        shapes.append(Polygon(corners, "#e8e2d0", "#7a6a35", 1.0, "3 2"))
    return shapes


def _ends(band: StripBand, x0: float, x1: float) -> tuple[tuple[float, bool], tuple[float, bool]]:
    return (x0, band.low is not None or band.over_limit), (x1, band.high is not None or band.over_limit)


def _fit(title: str, room: float = SCALE_LEFT - 10.0 - LEFT, size: float = LABEL, *, bold: bool = False) -> str:
    """Return the title as far as it fits into the room [px]."""
    if text_width(title, size, bold=bold) <= room:
        return title
    cut = next(n for n in range(len(title), 0, -1) if text_width(title[:n] + "…", size, bold=bold) <= room)
    return title[:cut].rstrip() + "…"


def _axis(scale: _Scale, y: float, unit: str) -> list[Shape]:
    shapes: list[Shape] = [Polyline(((SCALE_LEFT, y), (SCALE_RIGHT, y)))]
    end = 0.0
    for tick in scale.ticks():
        x = scale.x(tick)
        shapes.append(Polyline(((x, y), (x, y + 4.0))))
        text = Text(x, y + 15.0, _short(tick, unit), 11.0, "middle", colour="#444")
        if text.box.x0 > end:
            shapes.append(text)
            end = text.box.x1 + 4.0
    if scale.logarithmic:
        shapes.append(Text(SCALE_LEFT - 10.0, y + 15.0, "logarithmic scale", 10.0, "end", colour="#444"))
    return shapes


def _short(value: float, unit: str) -> str:
    if value == 0:
        return f"0 {unit}"
    scale, prefix = next(((s, p) for s, p in PREFIXES if abs(value) >= s * 0.999), PREFIXES[-1])
    return f"{value / scale:.4g} {prefix}{unit}"


def _reading(strip: ReadingStrip, scale: _Scale, top: float, foot: float) -> list[Shape]:
    x = SCALE_RIGHT + 12.0 if strip.reading is None else scale.x(strip.reading)
    tip = foot + 18.0
    width = text_width(f"read: {strip.shown}", 13.0, bold=True)
    at = min(max(x, LEFT + width / 2), RIGHT - width / 2)
    return [
        Polyline(((x, top), (x, foot)), "#111", 1.6, "4 2", role="reading"),
        Polygon(((x, tip), (x - 5.0, tip + 9.0), (x + 5.0, tip + 9.0)), "#111", "#111", 1.0),
        Text(at, tip + 22.0, f"read: {strip.shown}", 13.0, "middle", True),
    ]
