"""Line drawings as SVG inside the page: they follow the page's look, and say in words what they show."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 760.0, 62.0, 18.0, 26.0, 46.0
"""The drawing's width and its margins, in the units of its own grid."""


Floats = Sequence[float] | NDArray[np.float64]

FARTHEST = (-1000, 20_000)
"""Tenths of the grid beyond which nothing is drawn: a value far off the axis."""


@dataclass(frozen=True)
class Line:
    """A curve; `kind` is its style (`base` is dashed, the others full), `high` makes it a band of extremes."""

    name: str
    kind: str
    y: Floats
    high: Floats | None = None


@dataclass(frozen=True)
class Chart:
    """Axes and curves over one range.

    Args:
        title: drawn above.
        words: the same told to those who cannot see it.
        x: of every curve.
        lines: the curves.
        x_label: with its unit; empty for an axis that the drawing below shows.
        y_range: ends of the upright axis; from the curves where None.
        height: of the drawing.
        x_range: ends of the flat axis; those of `x` where None.
        mark: an upright value worth a line of its own.
    """

    title: str
    words: str
    x: Floats
    lines: Sequence[Line]
    x_label: str = ""
    y_range: tuple[float, float] | None = None
    height: float = 240.0
    x_range: tuple[float, float] | None = None
    mark: float | None = None


def drawn(chart: Chart) -> Markup:
    """The chart as SVG."""
    left, right = chart.x_range or (chart.x[0], chart.x[-1])
    low, high = chart.y_range or _range(chart.lines)
    across = _Scale(left, right, LEFT, WIDTH - RIGHT)
    up = _Scale(low, high, chart.height - BOTTOM, TOP)
    parts = [f'<text class="c-title" x="{LEFT:g}" y="16">{escape(chart.title)}</text>']
    parts += [f'<path class="c-grid" d="M{LEFT:g} {up(tick):.1f}H{WIDTH - RIGHT:g}"/>'
              f'<text class="c-tick c-end" x="{LEFT - 8:g}" y="{up(tick) + 5:.1f}">{_text(tick)}</text>'
              for tick in ticks(low, high, 4)]  # fmt: skip
    bottom = chart.height - BOTTOM
    parts += [f'<path class="c-grid" d="M{across(tick):.1f} {bottom:g}v6"/>'
              f'<text class="c-tick c-middle" x="{across(tick):.1f}" y="{bottom + 22:g}">{_text(tick)}</text>'
              for tick in ticks(left, right, 7)]  # fmt: skip
    if chart.mark is not None:
        parts.append(f'<path class="c-mark" d="M{LEFT:g} {up(chart.mark):.1f}H{WIDTH - RIGHT:g}"/>')
    for line in chart.lines:
        parts.append(
            f'<path class="c-line c-{escape(line.kind)}" transform="scale(.1)" d="{_path(chart.x, line, across, up)}"/>'
        )
    if chart.x_label:
        parts.append(f'<text class="c-label c-middle" x="{(LEFT + WIDTH - RIGHT) / 2:g}" y="{chart.height - 6:g}">'
                     f"{escape(chart.x_label)}</text>")  # fmt: skip
    parts += _key(chart.lines)
    return Markup(  # noqa: S704 - every word put in is escaped above
        f'<svg class="chart" viewBox="0 0 {WIDTH:g} {chart.height:g}" role="img" '
        f'aria-label="{escape(chart.words)}" data-left="{left:.9g}" data-right="{right:.9g}">{"".join(parts)}</svg>'
    )


@dataclass(frozen=True)
class _Scale:
    """From a value to a place in the drawing; a range without width is drawn in the middle."""

    low: float
    high: float
    at_low: float
    at_high: float

    def __call__(self, value: float) -> float:
        slope, start = self._line()
        return start + slope * value

    def tenths(self) -> tuple[float, float]:
        """Slope and start of the same in tenths, half a tenth up so that cutting off rounds."""
        slope, start = self._line()
        return 10.0 * slope, 10.0 * start + 0.5

    def _line(self) -> tuple[float, float]:
        if self.high <= self.low:
            return 0.0, 0.5 * (self.at_low + self.at_high)
        slope = (self.at_high - self.at_low) / (self.high - self.low)
        return slope, self.at_low - slope * self.low


def _path(x: Floats, line: Line, across: _Scale, up: _Scale) -> str:
    """The curve in tenths of the grid, which are whole numbers and therefore short and quick to write."""
    (slope_x, start_x), (slope_y, start_y) = across.tenths(), up.tenths()
    low = np.asarray(line.y, dtype=float)
    high = low if line.high is None else np.asarray(line.high, dtype=float)
    known = np.isfinite(low) & np.isfinite(high)
    places = np.empty((len(x), 3), dtype=np.int64)
    places[:, 0] = start_x + slope_x * np.asarray(x, dtype=float)
    for column, values in ((1, low), (2, high)):
        places[:, column] = np.clip(start_y + slope_y * np.where(known, values, 0.0), *FARTHEST)
    form = "L%d %dV%d" if line.high is not None else "L%d %d"
    parts = []
    for begin, end in _stretches(known):
        points = places[begin:end] if line.high is not None else places[begin:end, :2]
        parts.append("M" + (form * (end - begin) % tuple(points.ravel().tolist()))[1:])
    return "".join(parts)


def _stretches(known: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Begin and end of every run of readings: where there is none, the pen is lifted."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], known, [False])).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _range(lines: Iterable[Line]) -> tuple[float, float]:
    parts = [
        np.asarray(part, dtype=float) for line in lines for part in (line.y, line.high) if part is not None
    ]
    values = np.concatenate(parts) if parts else np.empty(0)
    values = values[np.isfinite(values)]
    if not values.size:
        return 0.0, 1.0
    low, high = float(values.min()), float(values.max())
    room = 0.06 * (high - low) or max(abs(high), 1.0) * 0.05
    return low - room, high + room


def ticks(low: float, high: float, about: int) -> list[float]:
    """Round values between two ends, about so many of them.

    >>> ticks(0, 60, 4)
    [0.0, 20.0, 40.0, 60.0]
    """
    if not (isfinite(low) and isfinite(high)) or high <= low:
        return []
    rough = (high - low) / max(about, 1)
    power = 10.0 ** floor(log10(rough))
    step = next(power * part for part in (1, 2, 5, 10) if power * part >= rough * 0.999)
    first = ceil(low / step - 1e-9)
    return [round(k * step, 9) + 0.0 for k in range(first, floor(high / step + 1e-9) + 1)]


def _text(value: float) -> str:
    return f"{value:g}".replace("-", "\u2212")


def _key(lines: Sequence[Line]) -> list[str]:
    """The curves' names at the top right, each beside a piece of its line."""
    named = [line for line in lines if line.name]
    parts, place = [], WIDTH - RIGHT
    for line in reversed(named):
        place -= 8.6 * len(line.name) + 46
        parts.append(f'<path class="c-line c-{escape(line.kind)}" d="M{place:.0f} 11h28"/>'
                     f'<text class="c-tick" x="{place + 34:.0f}" y="16">{escape(line.name)}</text>')  # fmt: skip
    return parts
