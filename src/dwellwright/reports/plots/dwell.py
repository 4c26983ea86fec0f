"""Mean dwell by regime: before against after, and predicted against observed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

from dwellwright.reports.plots.look import (
    AFTER,
    BEFORE,
    HAIR,
    INK,
    SCALE_TOP,
    SOFT,
    WASH,
    Format,
    Plot,
    Sketch,
    shortened,
)


@dataclass(frozen=True)
class Spread:
    """A value with its interval. [deg of dwell, six-cylinder scale]"""

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(
                f"the value must lie within its interval, got {self.low}, {self.value}, {self.high}"
            )


@dataclass(frozen=True)
class DwellRow:
    """One regime: two values to compare, either may be missing, and the band asked for.

    Args:
        regime: in words.
        first: before, or predicted.
        second: after, or observed.
        band: lowest and highest dwell accepted. [deg]
    """

    regime: str
    first: Spread | None
    second: Spread | None
    band: tuple[float, float] | None = None


def before_and_after(rows: Sequence[DwellRow], form: Format = Format.SVG, name: str = "before-after") -> Plot:
    """Dwell as found (open diamond, dashed) and as left (filled disc) in each regime, over the band asked for.

    Raises:
        ValueError: no rows.
    """
    return _compared(rows, ("as found", "as left"), form, name)


def predicted_and_observed(
    rows: Sequence[DwellRow], form: Format = Format.SVG, name: str = "predicted"
) -> Plot:
    """Dwell as the diagnosis predicts it (open diamond, dashed) and as observed (filled disc).

    Raises:
        ValueError: no rows.
    """
    return _compared(rows, ("predicted", "observed"), form, name)


def _compared(rows: Sequence[DwellRow], names: tuple[str, str], form: Format, name: str) -> Plot:
    if not rows:
        raise ValueError("there must be at least one regime to draw")
    with Sketch(compared_height(rows)) as sketch:
        draw_compared(sketch.axes[0], rows, names)
        return sketch.plot(name, compared_words(rows, names), form)


def compared_height(rows: Sequence[DwellRow]) -> float:
    """Height that the rows want. [in]"""
    return 0.62 + 0.5 * len(rows)


def draw_compared(axes: Axes, rows: Sequence[DwellRow], names: tuple[str, str]) -> None:
    """The rows, on axes of any figure under the house settings."""
    for row, one in enumerate(rows):
        _row(axes, row, one)
    _frame(axes, rows)
    _key(axes, names, any(row.band for row in rows))


def _row(axes: Axes, row: int, one: DwellRow) -> None:
    axes.axhline(row, color=HAIR, linewidth=0.6, zorder=0)
    if one.band:
        low, high = one.band
        axes.barh(row, high - low, left=low, height=0.66, color=WASH, edgecolor=SOFT, linewidth=0.5, zorder=1)
    for shift, spread, color, marker, style, face in (
        (-0.13, one.first, BEFORE, "D", (0, (3, 1.6)), "white"),
        (0.13, one.second, AFTER, "o", "-", AFTER),
    ):
        if spread is None:
            continue
        y = row + shift
        axes.plot((spread.low, spread.high), (y, y), color=color, linewidth=1.6, linestyle=style, zorder=2)
        axes.plot(spread.value, y, marker=marker, color=color, markerfacecolor=face, markersize=5.5,
                  markeredgewidth=1.4, zorder=3)  # fmt: skip
        right = spread.high < SCALE_TOP - 8
        axes.annotate(f"{spread.value:.0f}°", (spread.high if right else spread.low, y), (6 if right else -6, 0),
                      textcoords="offset points", va="center", ha="left" if right else "right", fontsize=7.5,
                      color=INK)  # fmt: skip


def _frame(axes: Axes, rows: Sequence[DwellRow]) -> None:
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.set_xlim(0, SCALE_TOP)
    axes.set_xticks(range(0, 61, 10))
    axes.set_yticks(range(len(rows)), [shortened(row.regime, 22) for row in rows])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(
        "mean dwell, degrees on the six-cylinder scale   (low: the loop adds fuel; high: it takes fuel away)"
    )


def _key(axes: Axes, names: tuple[str, str], band: bool) -> None:
    axes.plot([], [], marker="D", color=BEFORE, markerfacecolor="white", markeredgewidth=1.4, markersize=5.5,
              linewidth=1.6, linestyle=(0, (3, 1.6)), label=names[0])  # fmt: skip
    axes.plot([], [], marker="o", color=AFTER, markersize=5.5, linewidth=1.6, label=names[1])
    if band:
        axes.fill_between([], [], color=WASH, edgecolor=SOFT, linewidth=0.5, label="band asked for")
    axes.legend(loc="lower left", bbox_to_anchor=(0, 1.0), ncols=3, frameon=False, fontsize=7.5, borderpad=0,
                handlelength=2.6)  # fmt: skip


def compared_words(rows: Sequence[DwellRow], names: tuple[str, str]) -> str:
    """What the rows show, in words."""
    parts = []
    for row in rows:
        values = [
            f"{word} {spread.value:.1f} degrees ({spread.low:.1f} to {spread.high:.1f})"
            if spread
            else f"{word} unknown"
            for word, spread in zip(names, (row.first, row.second), strict=True)
        ]
        band = f", asked for {row.band[0]:.0f} to {row.band[1]:.0f}" if row.band else ""
        parts.append(f"{row.regime}: {', '.join(values)}{band}")
    return "Mean dwell by regime. " + "; ".join(parts) + "."
