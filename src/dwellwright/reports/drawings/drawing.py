"""A drawing as plain primitives in millimetres of paper or of part; every renderer draws the same ones."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import atan2, copysign, cos, degrees, hypot, pi, sin

Point = tuple[float, float]
TEXT_HEIGHT = 2.5
ARROW = 2.2


class Layer(StrEnum):
    """What a stroke is, which decides its width and dash."""

    OUTLINE = "OUTLINE"
    CENTER = "CENTER"
    DIMENSION = "DIMENSION"
    NOTE = "NOTE"

    @property
    def width(self) -> float:
        """Stroke width. [mm]"""
        return {Layer.OUTLINE: 0.5, Layer.CENTER: 0.18, Layer.DIMENSION: 0.18, Layer.NOTE: 0.25}[self]


@dataclass(frozen=True)
class Line:
    """A straight stroke."""

    start: Point
    end: Point
    layer: Layer


@dataclass(frozen=True)
class Circle:
    """A full circle."""

    center: Point
    radius: float
    layer: Layer


@dataclass(frozen=True)
class Arrow:
    """A filled arrowhead whose tip is at `tip`, pointing along `angle`. [deg]"""

    tip: Point
    angle: float
    size: float
    layer: Layer = Layer.DIMENSION


class Anchor(StrEnum):
    """Which end of a text its point is."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True)
class Text:
    """One line of text, baseline at `at`, turned by `angle`. [deg]"""

    at: Point
    words: str
    height: float = TEXT_HEIGHT
    anchor: Anchor = Anchor.START
    angle: float = 0.0
    layer: Layer = Layer.NOTE


Primitive = Line | Circle | Arrow | Text


@dataclass(frozen=True)
class Drawing:
    """Primitives on a sheet, y upward. [mm]"""

    title: str
    width: float
    height: float
    primitives: tuple[Primitive, ...]


def polyline(points: Iterable[Point], layer: Layer = Layer.OUTLINE) -> list[Line]:
    """Strokes through the points, closed."""
    corners = list(points)
    return [Line(a, b, layer) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def _aside(start: Point, end: Point, left: float, forward: float = 0.0) -> Point:
    """`start` moved to the left of the way to `end`, and forward along it."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    x, y = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    return start[0] - y * left + x * forward, start[1] + x * left + y * forward


def dimension(
    start: Point, end: Point, offset: float, words: str, outside: Anchor | None = None
) -> list[Primitive]:
    """A dimension parallel to `start`-`end`, set off to the left of that direction. [mm]

    Args:
        start: first point measured.
        end: second point measured.
        offset: distance of the dimension line; negative puts it on the other side.
        words: the size.
        outside: where the words do not fit between: level, beyond `end`, anchored by this end.
    """
    length = hypot(end[0] - start[0], end[1] - start[1])
    angle = degrees(atan2(end[1] - start[1], end[0] - start[0]))
    overshoot = copysign(0.4 * TEXT_HEIGHT, offset)
    first, second = _aside(start, end, offset), _aside(start, end, offset, length)
    parts: list[Primitive] = [
        Line(_aside(start, end, overshoot), _aside(start, end, offset + overshoot), Layer.DIMENSION),
        Line(
            _aside(start, end, overshoot, length),
            _aside(start, end, offset + overshoot, length),
            Layer.DIMENSION,
        ),
    ]
    if outside is None:
        parts += [
            Line(first, second, Layer.DIMENSION),
            Arrow(first, angle + 180, ARROW),
            Arrow(second, angle, ARROW),
        ]
        return [*parts, _words_between(first, second, angle, words)]
    inner, outer = _aside(start, end, offset, -4 * ARROW), _aside(start, end, offset, length + 4 * ARROW)
    parts += [
        Line(inner, outer, Layer.DIMENSION),
        Arrow(first, angle, ARROW),
        Arrow(second, angle + 180, ARROW),
    ]
    nudge = {Anchor.START: 1.0, Anchor.MIDDLE: 0.0, Anchor.END: -1.0}[outside]
    at = (outer[0] + nudge, outer[1] - (TEXT_HEIGHT if angle < 0 else 0.0) + 0.5)
    return [*parts, Text(at, words, TEXT_HEIGHT, outside, 0.0, Layer.DIMENSION)]


def _words_between(first: Point, second: Point, angle: float, words: str) -> Text:
    """Words over the middle of a dimension line, readable from below or from the right."""
    upright = angle if -90 < angle <= 90 else angle - 180 if angle > 0 else angle + 180
    up = -sin(upright * pi / 180), cos(upright * pi / 180)
    lift = 0.35 * TEXT_HEIGHT
    at = (first[0] + second[0]) / 2 + up[0] * lift, (first[1] + second[1]) / 2 + up[1] * lift
    return Text(at, words, TEXT_HEIGHT, Anchor.MIDDLE, upright, Layer.DIMENSION)


def arrow_points(arrow: Arrow) -> tuple[Point, Point, Point]:
    """Corners of an arrowhead, tip first."""
    back = arrow.angle * pi / 180 + pi
    spread = 0.18
    corners = [
        (arrow.tip[0] + arrow.size * cos(back + turn), arrow.tip[1] + arrow.size * sin(back + turn))
        for turn in (-spread, spread)
    ]
    return arrow.tip, corners[0], corners[1]
