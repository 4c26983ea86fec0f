"""Gauges drawn: a study's readings, a calibration line, a drift chart, and readings against their tolerances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

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
    shortened,
)
from dwellwright.reports.plots.ways import WayRow, stacked

MARKERS = "osD^vP*X"
COLORS = (INK, AFTER, BEFORE, ALERT, SOFT)
MOST_TICKS = 30
"""Names written below an axis; of more, every so many."""


@dataclass(frozen=True)
class StudyPoint:
    """One reading of a study, in the unit of the plot."""

    part: str
    hand: str
    value: float


def study_plot(
    points: Sequence[StudyPoint],
    spreads: dict[str, float],
    share: float,
    unit: str,
    form: Format = Format.SVG,
    name: str = "study",
) -> Plot:
    """Every reading by part, a mark for each hand, beside the standard deviations.

    Args:
        points: readings.
        spreads: standard deviation by what makes it, in words. [unit]
        share: gauge over total spread. [-]
        unit: of values and spreads.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: no readings.
    """
    if not points:
        raise ValueError("a study needs readings to draw")
    parts, hands = list(dict.fromkeys(p.part for p in points)), list(dict.fromkeys(p.hand for p in points))
    with Sketch(2.7, columns=(3.0, 1.3)) as sketch:
        left, right = sketch.axes
        for index, hand in enumerate(hands):
            mine = [one for one in points if one.hand == hand]
            places = [parts.index(one.part) + (index - (len(hands) - 1) / 2) * 0.18 for one in mine]
            left.plot(places, [one.value for one in mine], linestyle="none", markersize=4.2, markerfacecolor="none",
                      marker=MARKERS[index % len(MARKERS)], color=COLORS[index % len(COLORS)],
                      label=shortened(hand, 16))  # fmt: skip
        step = -(-len(parts) // MOST_TICKS)
        left.set_xticks(range(0, len(parts), step), [shortened(part, 10) for part in parts[::step]])
        for place in range(len(parts)):
            left.axvline(place + 0.5, color=HAIR, linewidth=0.5)
        left.set(xlabel="part", ylabel=f"reading, {unit}", xlim=(-0.6, len(parts) - 0.4))
        left.legend(title="hand", fontsize=7, title_fontsize=7, frameon=False, ncols=min(4, len(hands)),
                    loc="lower left", bbox_to_anchor=(0.0, 1.0), borderaxespad=0.2)  # fmt: skip
        right.barh(list(spreads), list(spreads.values()), color=AFTER, height=0.55)
        right.invert_yaxis()
        right.set(xlabel=f"standard deviation, {unit}")
        right.set_title(f"gauge: {share:.0%} of all spread", loc="left")
        words = ", ".join(f"{key} {value:.3g}" for key, value in spreads.items())
        alt = (
            f"{len(points)} readings of {len(parts)} parts by {len(hands)} hands. Spread in {unit}: {words}. "
        )
        return sketch.plot(name, f"{alt}The gauge makes {share:.0%} of all spread.", form)


def calibration_plot(
    truths: Sequence[float],
    readings: Sequence[float],
    line: tuple[float, float],
    residual: float,
    unit: str,
    form: Format = Format.SVG,
    name: str = "calibration",
) -> Plot:
    """Error of the gauge (reading less truth) over the known size, with the line and its scatter.

    Args:
        truths: known sizes. [unit]
        readings: what the gauge said. [unit]
        line: offset and slope of reading over truth.
        residual: standard deviation about the line. [unit]
        unit: of everything.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: sizes and readings differ in number, or there are none.
    """
    if len(truths) != len(readings) or not truths:
        raise ValueError(f"as many sizes as readings are needed, got {len(truths)} and {len(readings)}")
    x, y = np.asarray(truths, float), np.asarray(readings, float)
    ends = np.array([x.min(), x.max()])
    error = line[0] + (line[1] - 1) * ends
    with Sketch(2.3) as sketch:
        (axes,) = sketch.axes
        axes.axhline(0.0, color=SOFT, linewidth=0.7, linestyle=(0, (3, 2)))
        axes.fill_between(ends, error - 2 * residual, error + 2 * residual, color=WASH, linewidth=0)
        axes.plot(ends, error, color=AFTER, linewidth=1.4)
        axes.plot(x, y - x, "o", color=INK, markersize=4, markerfacecolor="white")
        axes.set(xlabel=f"known size, {unit}", ylabel=f"error, {unit}")
        axes.set_title("error of the gauge, its line and twice the scatter about it", loc="left")
        alt = f"{x.size} known sizes from {ends[0]:.4g} to {ends[1]:.4g} {unit}; the error goes from {error[0]:+.3g} "
        return sketch.plot(name, f"{alt}to {error[1]:+.3g} {unit}, scatter {residual:.2g} {unit}.", form)


def drift_plot(
    errors: Sequence[float],
    sums: tuple[Sequence[float], Sequence[float]],
    limit: float,
    alarm: int | None,
    unit: str,
    form: Format = Format.SVG,
    name: str = "drift",
) -> Plot:
    """Checks against the master in order of time, and the cumulative sums with their limit.

    Args:
        errors: reading less master. [unit]
        sums: high and low cumulative sum. [unit]
        limit: sum that alarms. [unit]
        alarm: first check that alarms, from 1; None where none does.
        unit: of everything.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: no checks.
    """
    if not errors:
        raise ValueError("a drift needs checks to draw")
    count = np.arange(1, len(errors) + 1)
    with Sketch(2.7, rows=(1.0, 1.2)) as sketch:
        top, low = sketch.axes
        top.axhline(0.0, color=SOFT, linewidth=0.7, linestyle=(0, (3, 2)))
        top.plot(count, errors, "o-", color=INK, markersize=3.5, linewidth=0.6, markerfacecolor="white")
        top.set(ylabel=f"error, {unit}")
        low.plot(count, sums[0], color=AFTER, linewidth=1.4, label="reads high")
        low.plot(count, sums[1], color=BEFORE, linewidth=1.4, linestyle=(0, (4, 2)), label="reads low")
        low.axhline(limit, color=ALERT, linewidth=0.9)
        low.set(xlabel="check", ylabel=f"sum, {unit}", ylim=(0, 1.1 * max(limit, *sums[0], *sums[1])))
        for axes in (top, low):
            axes.set_xlim(0.5, max(2.5, len(errors) + 0.5))
            if alarm:
                axes.axvline(alarm, color=ALERT, linewidth=0.9, linestyle=(0, (2, 2)))
        low.legend(fontsize=7, frameon=False, loc="upper left")
        said = f"it drifted: seen at check {alarm}" if alarm else "no drift seen"
        top.set_title(said, loc="left")
        sketch.figure.align_ylabels(sketch.axes)
        return sketch.plot(name, f"{len(errors)} checks against a master, cumulative sums: {said}.", form)


@dataclass(frozen=True)
class SettingRow:
    """One reading against its tolerance; all over the half width of the tolerance, the specification at 0.

    Args:
        title: of the setting.
        value: of the mean.
        low: of the interval.
        high: of the interval.
        repeats: every repeat.
        verdict: in words.
    """

    title: str
    value: float
    low: float
    high: float
    repeats: tuple[float, ...]
    verdict: str


def settings_plot(
    rows: Sequence[SettingRow],
    budgets: Sequence[WayRow] = (),
    form: Format = Format.SVG,
    name: str = "gauges",
) -> Plot:
    """Readings of a bench sheet, each against its own tolerance, beside what makes each doubtful.

    Args:
        rows: readings.
        budgets: of the same readings, in their order; none to leave that panel out.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: no rows.
    """
    if not rows:
        raise ValueError("there must be at least one reading with a specification to draw")
    reach = min(8.0, 1.1 * max(1.5, *(abs(end) for one in rows for end in (one.low, one.high))))
    columns = (1.6, 1.0) if budgets else (1.0,)
    with Sketch(0.7 + 0.32 * len(rows) + (0.35 if budgets else 0.0), columns=columns) as sketch:
        axes = sketch.axes[0]
        axes.axvspan(-1, 1, facecolor=WASH, edgecolor=SOFT, linewidth=0.5, zorder=0)
        axes.axvline(0, color=SOFT, linewidth=0.7, linestyle=(0, (3, 2)))
        for row, one in enumerate(rows):
            _setting(axes, row, one, reach)
        axes.set(xlim=(-reach, reach), ylim=(len(rows) - 0.5, -0.6),
                 xlabel="tolerances from the specification (shaded: within)")  # fmt: skip
        axes.set_yticks(range(len(rows)), [in_lines(one.title, 30) for one in rows])
        if budgets:
            stacked(sketch.figure, sketch.axes[1], budgets)
            sketch.axes[1].set_ylim(len(rows) - 0.5, -0.6)
            axes.set_xlabel("tolerances from the specification")
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        parts = "; ".join(f"{one.title}: {one.value:+.2f} tolerances, {one.verdict}" for one in rows)
        return sketch.plot(name, f"Readings against their tolerances. {parts}.", form)


def _setting(axes: Axes, row: int, one: SettingRow, reach: float) -> None:
    color = {"in": AFTER, "out": ALERT}.get(one.verdict, BEFORE)
    axes.axhline(row, color=HAIR, linewidth=0.6, zorder=0)
    axes.plot((max(one.low, -reach), min(one.high, reach)), (row, row), color=color, linewidth=1.8)
    repeats = [value for value in one.repeats if abs(value) <= reach]
    axes.plot(repeats, [row + 0.22] * len(repeats), "|", color=SOFT, markersize=5)
    shown = min(max(one.value, -0.97 * reach), 0.97 * reach)
    marker = "o" if shown == one.value else (">" if shown > 0 else "<")
    axes.plot(shown, row, marker=marker, color=color, markersize=5.5)
    side = "right" if shown > 0.6 * reach else "left"
    axes.annotate(one.verdict, (shown, row), (-8 if side == "right" else 8, 3), textcoords="offset points",
                  fontsize=7, ha=side, color=INK)  # fmt: skip
