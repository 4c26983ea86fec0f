"""Ways to measure one setting side by side: each one's doubt against the tolerance, and what makes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dwellwright.reports.plots.look import (
    AFTER,
    ALERT,
    BEFORE,
    HAIR,
    INK,
    SOFT,
    WASH,
    Format,
    Plot,
    Sketch,
    in_lines,
)

DOUBT_INKS = {"repeats": AFTER, "step that can be read": BEFORE, "the gauge's own error": SOFT,
              "the way of measuring": HAIR}  # fmt: skip
"""What makes a doubt, with its color; hatches tell them apart in gray."""

_HATCHES = ("", "////", "", "....")
LABEL_LINE, FARTHEST = 30, 4.0


@dataclass(frozen=True)
class WayRow:
    """One way to measure a setting, or one reading.

    Args:
        title: in words.
        half: doubt at about 95 % over the half width of the tolerance. [-]
        good: whether it is good enough.
        said: doubt and verdict in words.
        chance: of a wrong setting, in words; empty where none is made.
        shares: of its variance, by what makes it. [-]
    """

    title: str
    half: float
    good: bool
    said: str
    chance: str
    shares: Mapping[str, float]


def ways_reach(rows: Sequence[WayRow]) -> float:
    """End of the axis: far enough for the tolerance and most doubts, the widest are cut."""
    return min(FARTHEST, 1.15 * max(1.3, *(one.half for one in rows)))


def ways_words(rows: Sequence[WayRow]) -> str:
    """The same for those who cannot see it."""
    return "; ".join(f"{one.title}: {one.said}, {one.chance}" for one in rows)


def ways_plot(setting: str, rows: Sequence[WayRow], form: Format = Format.SVG, name: str = "ways") -> Plot:
    """Every way for a setting: its doubt against the tolerance, beside what makes the doubt.

    Raises:
        ValueError: no ways.
    """
    if not rows:
        raise ValueError("there must be at least one way to draw")
    reach = ways_reach(rows)
    with Sketch(1.25 + 0.5 * len(rows), columns=(1.5, 1.0)) as sketch:
        left, right = sketch.axes
        left.axvspan(-1, 1, facecolor=WASH, edgecolor=SOFT, linewidth=0.5, zorder=0)
        left.axvline(0, color=SOFT, linewidth=0.7, linestyle=(0, (3, 2)))
        for row, one in enumerate(rows):
            _way(left, row, one, reach)
        left.set(
            xlim=(-reach, reach), ylim=(len(rows) - 0.4, -0.7), xlabel="doubt at 95 %, in tolerances (shaded)"
        )
        left.set_yticks(range(len(rows)), [in_lines(one.title, LABEL_LINE) for one in rows])
        left.tick_params(axis="y", length=0)
        left.spines["left"].set_visible(False)
        stacked(sketch.figure, right, rows)
        sketch.figure.suptitle(setting, fontsize=8.5)
        return sketch.plot(name, f"Ways to measure: {setting}. {ways_words(rows)}.", form)


def _way(axes: Axes, row: int, one: WayRow, reach: float) -> None:
    ink, half = AFTER if one.good else ALERT, min(one.half, reach)
    axes.plot((-half, half), (row, row), color=ink, linewidth=2.2, solid_capstyle="butt")
    for end, arrow in ((-half, "<"), (half, ">")):
        axes.plot(end, row, marker="|" if one.half <= reach else arrow, color=ink, markersize=8)
    for words, lift, color in ((one.said, 5, INK), (one.chance, -11, SOFT)):
        axes.annotate(
            words, (0, row), (0, lift), textcoords="offset points", fontsize=7, ha="center", color=color
        )


def stacked(figure: Figure, axes: Axes, rows: Sequence[WayRow]) -> None:
    """What makes each doubt, as shares of its variance."""
    start = [0.0] * len(rows)
    for (kind, ink), hatch in zip(DOUBT_INKS.items(), _HATCHES, strict=True):
        sizes = [100 * one.shares.get(kind, 0.0) for one in rows]
        axes.barh(range(len(rows)), sizes, left=start, height=0.5, color=ink, edgecolor="white", linewidth=0.6,
                  hatch=hatch, label=kind)  # fmt: skip
        start = [a + b for a, b in zip(start, sizes, strict=True)]
    axes.set(xlim=(0, 100), ylim=(len(rows) - 0.4, -0.7), yticks=[], xlabel="share of the variance, %")
    axes.spines["left"].set_visible(False)
    figure.legend(
        *axes.get_legend_handles_labels(), fontsize=7, frameon=False, ncols=4, loc="outside lower center",
        handlelength=1.4, columnspacing=1.4,
    )  # fmt: skip
