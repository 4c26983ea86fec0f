"""Points over two axes to move along: readings by hand, a calibration and its line, checks in order of time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dwellwright.reports.plots.look import AFTER, ALERT, BEFORE, HAIR, INK, SOFT, WASH
from dwellwright.reports.plots.moving import (
    Figure,
    Moving,
    finished,
    framed,
    legend,
    plain,
    pointed_at,
    stroke,
)

MARKS = ("circle", "square", "diamond", "triangle", "star", "inverted_triangle", "hex", "plus")
INKS = (INK, AFTER, BEFORE, ALERT, SOFT)


@dataclass(frozen=True)
class Cloud:
    """Points of one kind: `x`, `y` and what each tells when pointed at.

    Args:
        name: in the key, in the language spoken now.
        x: of each.
        y: of each.
        told: by each when it is pointed at.
        joined: a line through them.
        band: half height of a shaded band about that line; its points then bear no marks.
    """

    name: str
    x: Sequence[float]
    y: Sequence[float]
    told: Sequence[str]
    joined: bool = False
    band: float = 0.0


def clouds_figure(
    clouds: Sequence[Cloud], labels: tuple[str, str], alt: str, *, lines: Sequence[float] = (),
    limit: float | None = None, mark: float | None = None, ticks: Mapping[int, str] | None = None, height: int = 340,
) -> Moving:  # fmt: skip
    """Points by kind over two axes; a name in the key hides its points.

    Args:
        clouds: the points.
        labels: of the flat and the upright axis.
        alt: the same in words.
        lines: dashed, level.
        limit: level line of what must not be passed.
        mark: upright line.
        ticks: names of whole numbers on the flat axis.
        height: [px]
    """
    from bokeh.models import Range1d

    drawn = framed(height, *labels)
    level = [*lines, *(() if limit is None else (limit,))]
    drawn.y_range = Range1d(*_ends([one + side * cloud.band for cloud in clouds for one in cloud.y for side in (-1, 1)]
                                   + level))  # fmt: skip
    for one in lines:
        stroke(drawn, one, upright=False)
    if limit is not None:
        stroke(drawn, limit, upright=False, color=ALERT, dash="solid")
    if mark is not None:
        stroke(drawn, mark, upright=True, color=ALERT)
    if ticks:
        _between(drawn, ticks)
    for index, cloud in enumerate(clouds):
        _cloud(drawn, cloud, index, named=len(clouds) > 1)
    if len(clouds) > 1:
        legend(drawn, hiding=True)
    return finished(drawn, alt)


def _ends(values: Sequence[float]) -> tuple[float, float]:
    """Ends of an axis that holds all of them with some air."""
    low, high = min(values), max(values)
    air = 0.07 * (high - low) or max(abs(high), 1.0) * 0.05
    return low - air, high + air


def _between(drawn: Figure, ticks: Mapping[int, str]) -> None:
    """Names under whole numbers, and a line between every two."""
    from bokeh.models import FixedTicker

    drawn.xaxis.ticker = FixedTicker(ticks=list(ticks))
    drawn.xaxis.major_label_overrides = dict(ticks)
    for place in ticks:
        stroke(drawn, place + 0.5, upright=True, color=HAIR, dash="solid")


def _cloud(drawn: Figure, cloud: Cloud, index: int, *, named: bool) -> None:
    from bokeh.models import ColumnDataSource

    told = [plain(one) for one in cloud.told]
    source = ColumnDataSource({"x": list(cloud.x), "y": list(cloud.y), "told": told})
    color, key = INKS[index % len(INKS)], {"legend_label": plain(cloud.name)} if named else {}
    if cloud.band:
        edges = [[one + side * cloud.band for one in cloud.y] for side in (-1, 1)]
        drawn.varea(list(cloud.x), *edges, fill_color=WASH, level="underlay")
    if cloud.joined:
        dash = "dashed" if index % 2 and not cloud.band else "solid"
        drawn.line("x", "y", source=source, color=color, line_width=2, line_dash=dash, **key)
    if cloud.band:
        return
    marks = drawn.scatter("x", "y", source=source, size=10, marker=MARKS[index % len(MARKS)], line_color=color,
                          fill_color="white", line_width=2, **key)  # fmt: skip
    pointed_at(drawn, marks)
