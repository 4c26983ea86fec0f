"""The exhaust drawn: how the sensor spends its time, and what the gas says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from dwellwright.reports.plots.look import (
    AFTER,
    BEFORE,
    HAIR,
    INK,
    SOFT,
    WASH,
    Format,
    Plot,
    Sketch,
    shortened,
)

Array = NDArray[np.float64]

BIN = 0.025
"""Width of a histogram bin. [V]"""


def sensor_histogram(
    regimes: Sequence[tuple[str, Array]],
    threshold: float = 0.45,
    form: Format = Format.SVG,
    name: str = "sensor",
) -> Plot:
    """Share of time the exhaust sensor spends at each voltage, one panel for each regime.

    Args:
        regimes: name and volts of each, at most four.
        threshold: switching point. [V]
        form: file format.
        name: of the plot.

    Raises:
        ValueError: no regime, more than four, or one without a finite voltage.
    """
    if not 1 <= len(regimes) <= 4:
        raise ValueError(f"one to four regimes can be drawn, got {len(regimes)}")
    volts = [np.asarray(values, float)[np.isfinite(values)] for _, values in regimes]
    if not all(len(values) for values in volts):
        raise ValueError("every regime must hold at least one finite voltage")
    top = max(1.0, *(float(values.max()) for values in volts))
    bins = np.arange(min(0.0, *(float(values.min()) for values in volts)), top + BIN, BIN)
    with Sketch(1.75, columns=(1.0,) * len(regimes)) as sketch:
        for axes, (title, _), values in zip(sketch.axes, regimes, volts, strict=True):
            share = np.histogram(values, bins)[0] / len(values)
            centers = (bins[:-1] + bins[1:]) / 2
            rich = centers > threshold
            axes.bar(1e3 * centers[~rich], share[~rich], 1e3 * BIN, color="white", edgecolor=SOFT, linewidth=0.5,
                     hatch="/////")  # fmt: skip
            axes.bar(1e3 * centers[rich], share[rich], 1e3 * BIN, color=AFTER, linewidth=0)
            axes.axvline(1e3 * threshold, color=INK, linewidth=0.7, linestyle=(0, (3, 2)))
            axes.set(yticks=[], xlabel="mV")
            axes.spines["left"].set_visible(False)
            axes.set_title(f"{shortened(title, 18)}: rich {np.mean(values > threshold):.0%}", loc="left")
        return sketch.plot(name, _sensor_words(regimes, volts, threshold), form)


def _sensor_words(regimes: Sequence[tuple[str, Array]], volts: Sequence[Array], threshold: float) -> str:
    parts = [
        f"{title}: mean {1e3 * values.mean():.0f} mV, "
        f"above {1e3 * threshold:.0f} mV {np.mean(values > threshold):.0%} of the time"
        for (title, _), values in zip(regimes, volts, strict=True)
    ]
    return "Histogram of the exhaust sensor's voltage. " + "; ".join(parts) + "."


@dataclass(frozen=True)
class GasRow:
    """Gas at one condition. Fractions by volume, dry; lambda with its interval."""

    condition: str
    co: float
    o2: float
    ratio: float
    low: float
    high: float
    hc: float | None = None
    co2: float | None = None


def gas_panels(
    rows: Sequence[GasRow],
    band: tuple[float, float] | None = None,
    form: Format = Format.SVG,
    name: str = "gas",
) -> Plot:
    """Lambda with its interval beside CO and O2, one line for each condition.

    Raises:
        ValueError: no rows.
    """
    if not rows:
        raise ValueError("there must be at least one gas reading to draw")
    with Sketch(0.75 + 0.42 * len(rows), columns=(1.5, 1.0)) as sketch:
        left, right = sketch.axes
        _lambda_panel(left, rows, band)
        for row, one in enumerate(rows):
            right.barh(row - 0.18, 100 * one.co, height=0.3, color=AFTER, linewidth=0)
            right.barh(
                row + 0.18,
                100 * one.o2,
                height=0.3,
                color="white",
                edgecolor=BEFORE,
                linewidth=0.8,
                hatch="////",
            )
            right.text(100 * one.co, row - 0.18, f"  CO {100 * one.co:.2f}", va="center", fontsize=7)
            right.text(100 * one.o2, row + 0.18, f"  O₂ {100 * one.o2:.2f}", va="center", fontsize=7)
        right.set_xlim(0, 1.35 * max(0.5, *(100 * max(one.co, one.o2) for one in rows)))
        right.set(yticks=[], xlabel="% by volume")
        right.set_ylim(left.get_ylim())
        parts = [
            f"{one.condition}: lambda {one.ratio:.3f} ({one.low:.3f} to {one.high:.3f}), "
            f"CO {one.co:.2%}, O2 {one.o2:.2%}"
            for one in rows
        ]
        return sketch.plot(name, "Exhaust gas. " + "; ".join(parts) + ".", form)


def _lambda_panel(axes: Axes, rows: Sequence[GasRow], band: tuple[float, float] | None) -> None:
    if band:
        axes.axvspan(*band, facecolor=WASH, edgecolor=SOFT, linewidth=0.5, zorder=0)
    axes.axvline(1.0, color=SOFT, linewidth=0.7, linestyle=(0, (3, 2)), zorder=1)
    for row, one in enumerate(rows):
        axes.axhline(row, color=HAIR, linewidth=0.6, zorder=0)
        axes.plot((one.low, one.high), (row, row), color=AFTER, linewidth=1.6)
        axes.plot(one.ratio, row, marker="o", color=AFTER, markersize=5.5)
        axes.annotate(
            f"{one.ratio:.3f}",
            (one.ratio, row),
            (0, 7),
            textcoords="offset points",
            ha="center",
            fontsize=7.5,
        )
    reach = max(
        0.05,
        *(abs(value - 1) for one in rows for value in (one.low, one.high)),
        *(abs(b - 1) for b in band or ()),
    )
    axes.set_xlim(1 - 1.15 * reach, 1 + 1.15 * reach)
    axes.set_ylim(len(rows) - 0.5, -0.6)
    axes.set_yticks(range(len(rows)), [shortened(one.condition, 18) for one in rows])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_xlabel("lambda by gas   (below 1 rich, above 1 lean)")
