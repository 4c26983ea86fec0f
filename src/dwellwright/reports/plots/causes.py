"""Probability of each cause as bars, with the interval of its estimate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

from dwellwright.reports.plots.look import AFTER, HAIR, INK, SOFT, WASH, Format, Plot, Sketch, shortened


@dataclass(frozen=True)
class CauseBar:
    """One cause.

    Args:
        title: in words.
        probability: that it is present. [-]
        magnitude: size with unit and interval, in words; empty if it has none.
        interval: lowest and highest probability, if known. [-]
        named: whether it is the verdict, drawn filled; others are hatched.
    """

    title: str
    probability: float
    magnitude: str = ""
    interval: tuple[float, float] | None = None
    named: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.probability <= 1:
            raise ValueError(f"a probability lies between 0 and 1, got {self.probability}")


def cause_bars(causes: Sequence[CauseBar], form: Format = Format.SVG, name: str = "causes") -> Plot:
    """Bars in the order given, each with its number, so that nothing rests on color.

    Raises:
        ValueError: no causes.
    """
    if not causes:
        raise ValueError("there must be at least one cause to draw")
    with Sketch(cause_bars_height(causes)) as sketch:
        draw_cause_bars(sketch.axes[0], causes)
        return sketch.plot(name, cause_words(causes), form)


def cause_bars_height(causes: Sequence[CauseBar]) -> float:
    """Height that the bars want. [in]"""
    return 0.35 + 0.34 * len(causes)


def draw_cause_bars(axes: Axes, causes: Sequence[CauseBar]) -> None:
    """The bars, on axes of any figure under the house settings."""
    for row, cause in enumerate(causes):
        axes.barh(row, 1.0, height=0.62, color=WASH, linewidth=0)
        if cause.named:
            axes.barh(row, cause.probability, height=0.62, color=AFTER, linewidth=0)
        else:
            axes.barh(row, cause.probability, height=0.62, color="white", edgecolor=SOFT, linewidth=0.7,
                      hatch="////")  # fmt: skip
        if cause.interval:
            axes.plot(cause.interval, (row, row), color="white", linewidth=3.4, solid_capstyle="butt")
            axes.plot(cause.interval, (row, row), color=INK, linewidth=1.1, marker="|", markersize=5)
        words = f"{cause.probability:.0%}" + (
            f"   {shortened(cause.magnitude, 40)}" if cause.magnitude else ""
        )
        axes.text(1.02, row, words, va="center", ha="left", fontweight="bold" if cause.named else "normal")
    axes.set_yticks(range(len(causes)), [shortened(cause.title, 34) for cause in causes])
    axes.set_ylim(len(causes) - 0.4, -0.6)
    axes.set_xlim(0, 1.95)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1.0], ["0", "25", "50", "75", "100 %"])
    axes.spines[["left", "bottom"]].set_visible(False)
    axes.tick_params(length=0)
    for mark in (0.25, 0.5, 0.75):
        axes.axvline(mark, color=HAIR, linewidth=0.5, zorder=0)


def cause_words(causes: Sequence[CauseBar]) -> str:
    """What the bars show, in words."""
    parts = [
        f"{cause.title} {cause.probability:.0%}" + (f" ({cause.magnitude})" if cause.magnitude else "")
        for cause in causes
    ]
    return "Bar chart of how likely each cause is: " + "; ".join(parts) + "."
