"""Plots to move along and read off in a page: the same look and words as those on paper, as figures for its script."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dwellwright.languages.catalogue import translated
from dwellwright.reports.plots.look import AFTER, ALERT, HAIR, INK, SOFT, WASH, in_lines
from dwellwright.reports.printable import BREAK, printable

Figure = Any
"""A figure of the plotting library, whose properties only its own plugin of the type checker understands."""

FONT = "DejaVu Sans, Verdana, sans-serif"
LABEL_LINE = 28
"""Most characters in one line of a row's name: a tablet held upright leaves room for the plot beside it."""

ROW_HEIGHT, LINE_HEIGHT, FRAME_HEIGHT = 58, 19, 86
"""Of one row, of a line of its name, and of axis and edges around them all. [px]"""


@dataclass(frozen=True)
class Moving:
    """A figure as JSON, and what it shows in words; `fixed` where there is nothing to gain by moving along it."""

    figure: str
    alt: str
    fixed: bool = False


@dataclass(frozen=True)
class Row:
    """A value with its interval on a line of its own.

    Args:
        title: of the line.
        value: where its mark stands.
        low: of the interval.
        high: of the interval.
        said: written beside the mark, in the language spoken now.
        told: shown when it is pointed at, in the same.
        good: True, False, or None where it cannot be told: decides color and mark.
    """

    title: str
    value: float
    low: float
    high: float
    said: str
    told: str
    good: bool | None = True


def framed(
    height: int, x_label: str, y_label: str = "", x_range: tuple[float, float] | None = None
) -> Figure:
    """An empty figure in the house look; nothing in it catches a finger that scrolls the page."""
    from bokeh.models import Range1d
    from bokeh.plotting import figure

    ends = {} if x_range is None else {"x_range": Range1d(*x_range)}
    drawn = figure(height=height, sizing_mode="stretch_width", toolbar_location=None, tools="",
                   x_axis_label=translated(x_label), y_axis_label=translated(y_label) or None, **ends)  # fmt: skip
    drawn.outline_line_color, drawn.background_fill_color, drawn.border_fill_color = None, "white", "white"
    drawn.xgrid.grid_line_color, drawn.ygrid.grid_line_color = None, HAIR
    for axis in (*drawn.xaxis, *drawn.yaxis):
        axis.axis_label_text_font_style, axis.axis_label_text_font_size = "normal", "14px"
        axis.axis_label_text_color, axis.major_label_text_color = SOFT, INK
        axis.major_label_text_font_size, axis.axis_line_color = "13px", HAIR
        axis.major_label_text_font = axis.axis_label_text_font = FONT
        axis.minor_tick_line_color, axis.major_tick_line_color = None, SOFT
    return drawn


def finished(drawn: Figure, alt: str, *, fixed: bool = False) -> Moving:
    """The figure as the page's script takes it."""
    from bokeh.embed import json_item

    return Moving(json.dumps(json_item(drawn), ensure_ascii=False), translated(alt), fixed)


def plain(text: str) -> str:
    """A text as a screen shows it."""
    return printable(text).replace(BREAK, "")


def pointed_at(drawn: Figure, marks: Any, mode: str = "mouse") -> None:
    """Tell the numbers of what is pointed at or touched."""
    from bokeh.models import HoverTool

    drawn.add_tools(HoverTool(renderers=[marks], tooltips="<div>@told</div>", mode=mode))


def _height(titles: Sequence[str], least: int) -> int:
    """Of a figure whose rows are high enough for the longest of their names. [px]"""
    lines = max((in_lines(one, LABEL_LINE).count("\n") + 1 for one in titles), default=1)
    return FRAME_HEIGHT + len(titles) * max(least, LINE_HEIGHT * lines + 6)


def _named_rows(drawn: Figure, titles: Sequence[str]) -> None:
    from bokeh.models import FixedTicker, Range1d

    drawn.y_range = Range1d(len(titles) - 0.5, -0.75)
    drawn.yaxis.ticker = FixedTicker(ticks=list(range(len(titles))))
    drawn.yaxis.major_label_overrides = {row: in_lines(one, LABEL_LINE) for row, one in enumerate(titles)}
    drawn.yaxis.axis_line_color = drawn.yaxis.major_tick_line_color = None


def stroke(drawn: Figure, place: float, *, upright: bool, color: str = SOFT, dash: str = "dashed") -> None:
    """A line across the whole plot, behind what is drawn over it."""
    from bokeh.models import Span

    drawn.add_layout(
        Span(location=place, dimension="height" if upright else "width", line_color=color, line_dash=dash)
    )


def rows_figure(
    rows: Sequence[Row], band: tuple[float, float], x_label: str, alt: str, x_range: tuple[float, float]
) -> Moving:
    """Values with their intervals, one below the other, against a shaded band.

    Args:
        rows: from the top down.
        band: shaded.
        x_label: with its unit.
        alt: the same in words.
        x_range: ends of the axis at the beginning.
    """
    from bokeh.core.properties import value
    from bokeh.models import BoxAnnotation, ColumnDataSource

    drawn = framed(_height([one.title for one in rows], ROW_HEIGHT), x_label, x_range=x_range)
    _named_rows(drawn, [one.title for one in rows])
    drawn.add_layout(
        BoxAnnotation(
            left=band[0], right=band[1], fill_color=WASH, fill_alpha=1.0, line_color=SOFT, level="image"
        )
    )
    stroke(drawn, (band[0] + band[1]) / 2, upright=True)
    low, high = x_range
    clipped = [min(max(one.value, low), high) for one in rows]
    source = ColumnDataSource({
        "x": clipped, "y": list(range(len(rows))), "low": [one.low for one in rows], "high": [one.high for one in rows],
        "said": [plain(one.said) for one in rows],
        "told": [plain(one.told) for one in rows],
        "ink": [{True: AFTER, False: ALERT, None: SOFT}[one.good] for one in rows],
        "fill": ["white" if one.good is None else AFTER if one.good else ALERT for one in rows],
        "mark": [{True: "circle", False: "square", None: "diamond"}[one.good] for one in rows],
        "size": [17 if one.good is None else 12 for one in rows],
        "side": [_side(place, x_range) for place in clipped],
    })  # fmt: skip
    drawn.segment("low", "y", "high", "y", source=source, line_color="ink", line_width=3)
    marks = drawn.scatter("x", "y", source=source, size="size", marker="mark", line_color="ink", fill_color="fill",
                          line_width=2)  # fmt: skip
    drawn.text("x", "y", "said", source=source, text_align="side", text_color=INK, text_font_size="13px", y_offset=-9,
               text_font=value(FONT))  # fmt: skip
    pointed_at(drawn, marks, "hline")
    return finished(drawn, alt)


def _side(value: float, ends: tuple[float, float]) -> str:
    """Which end of a text stands at a value, so that the text stays inside."""
    share = (value - ends[0]) / (ends[1] - ends[0])
    return "left" if share < 0.3 else "right" if share > 0.7 else "center"


def bars_figure(bars: Sequence[tuple[str, float, str]], x_label: str, alt: str) -> Moving:
    """Plain bars, one below the other.

    Args:
        bars: name, length and what is written at its end.
        x_label: with its unit.
        alt: the same in words.
    """
    from bokeh.core.properties import value
    from bokeh.models import ColumnDataSource

    longest = max((size for _, size, _ in bars), default=0.0) or 1.0
    drawn = framed(_height([name for name, _, _ in bars], 40), x_label, x_range=(0.0, 1.35 * longest))
    _named_rows(drawn, [name for name, _, _ in bars])
    source = ColumnDataSource({
        "y": list(range(len(bars))), "size": [size for _, size, _ in bars],
        "said": [f"  {said}" for _, _, said in bars],
        "told": [f"{translated(name)}: {said}" for name, _, said in bars],
    })  # fmt: skip
    marks = drawn.hbar("y", right="size", height=0.55, source=source, color=AFTER)
    drawn.text("size", "y", "said", source=source, text_color=INK, text_font_size="13px", text_baseline="middle",
               text_font=value(FONT))  # fmt: skip
    pointed_at(drawn, marks, "hline")
    drawn.ygrid.grid_line_color = None
    return finished(drawn, alt, fixed=True)


def shares_figure(
    rows: Sequence[tuple[str, Mapping[str, float]]], kinds: Mapping[str, str], alt: str, x_label: str
) -> Moving:
    """Stacked bars of shares that make up a whole, one for each row.

    Args:
        rows: name of each, and its shares by kind. [-]
        kinds: every kind with its color.
        alt: the same in words.
        x_label: of the shares.
    """
    from bokeh.models import ColumnDataSource

    drawn = framed(44 + _height([name for name, _ in rows], 46), x_label, x_range=(0.0, 100.0))
    _named_rows(drawn, [name for name, _ in rows])
    left = [0.0] * len(rows)
    for kind, color in kinds.items():
        sizes = [100 * shares.get(kind, 0.0) for _, shares in rows]
        right = [start + size for start, size in zip(left, sizes, strict=True)]
        told = [
            f"{translated(name)}: {translated(kind)} {size:.0f} %"
            for (name, _), size in zip(rows, sizes, strict=True)
        ]
        source = ColumnDataSource({"y": list(range(len(rows))), "left": left, "right": right, "told": told})
        marks = drawn.hbar("y", left="left", right="right", height=0.6, source=source, fill_color=color,
                           line_color="white", legend_label=translated(kind))  # fmt: skip
        pointed_at(drawn, marks)
        left = right
    legend(drawn, hiding=False)
    drawn.ygrid.grid_line_color = None
    return finished(drawn, alt, fixed=True)


def legend(drawn: Figure, *, hiding: bool) -> None:
    """The key above the plot; pressing a name hides its points."""
    from bokeh.models import Legend

    key: Legend = drawn.legend[0]
    drawn.add_layout(key, "above")
    key.orientation, key.ncols, key.label_text_font_size = "horizontal", "auto", "13px"
    key.click_policy = "hide" if hiding else "none"
    key.border_line_color, key.padding, key.spacing, key.margin = None, 4, 12, 0
    key.label_text_font = FONT
