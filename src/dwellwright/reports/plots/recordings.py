"""Recordings drawn: a piece of the solenoid wire with its edges, and a drive with its regimes shaded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray
from tsdownsample import MinMaxDownsampler

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
    shortened,
)

Array = NDArray[np.float64]

MOST_POINTS = 2400
"""Points drawn of one curve; peaks are kept by taking the least and the most of each stretch."""


@dataclass(frozen=True)
class Edge:
    """A switching moment. `energizing` is true when current begins to flow."""

    time: float
    energizing: bool


@dataclass(frozen=True)
class Span:
    """A stretch of a recording that is one regime. [s]"""

    start: float
    end: float
    title: str


def thinned(x: Array, y: Array) -> tuple[Array, Array]:
    """At most `MOST_POINTS` points with every extreme kept; what is not finite is left out."""
    good = np.isfinite(x) & np.isfinite(y)
    x, y = np.ascontiguousarray(x[good]), np.ascontiguousarray(y[good])
    if len(x) <= MOST_POINTS:
        return x, y
    kept = MinMaxDownsampler().downsample(x, y, n_out=MOST_POINTS)  # type: ignore[no-untyped-call]
    return x[kept], y[kept]


def waveform_snippet(
    time: Array,
    signal: Array,
    edges: Sequence[Edge],
    duty: float,
    form: Format = Format.SVG,
    name: str = "waveform",
) -> Plot:
    """A few periods of the solenoid wire; energized stretches are shaded and underlined.

    Args:
        time: of each sample. [s]
        signal: as recorded, any unit.
        edges: within the piece, in order.
        duty: mean energized fraction of the recording. [-]
        form: file format.
        name: of the plot.

    Raises:
        ValueError: time and signal differ in length, or hold fewer than two samples.
    """
    if len(time) != len(signal) or len(time) < 2:
        raise ValueError(
            f"time and signal must have equal length, two or more, got {len(time)} and {len(signal)}"
        )
    origin = float(time[0])
    with Sketch(1.75) as sketch:
        (axes,) = sketch.axes
        x, y = thinned(1e3 * (np.asarray(time, float) - origin), np.asarray(signal, float))
        axes.plot(x, y, color=INK, linewidth=0.8)
        low, high = float(y.min()), float(y.max())
        pad = 0.12 * (high - low or 1.0)
        for start, end in _energized(edges, origin, float(time[-1])):
            axes.axvspan(start, end, color=WASH, linewidth=0, zorder=0)
            axes.plot((start, end), (low - pad, low - pad), color=AFTER, linewidth=3, solid_capstyle="butt")
        for edge in edges:
            axes.axvline(1e3 * (edge.time - origin), color=SOFT, linewidth=0.6,
                         linestyle="-" if edge.energizing else (0, (2, 2)), zorder=1)  # fmt: skip
        axes.set(xlim=(x[0], x[-1]), ylim=(low - 2 * pad, high + pad), xlabel="milliseconds", yticks=[])
        axes.spines["left"].set_visible(False)
        axes.set_title(
            f"solenoid wire, underlined where energized: duty {duty:.1%}, dwell {60 * duty:.1f}°", loc="left"
        )
        alt = f"Piece of the solenoid signal with {len(edges)} switching edges; energized {duty:.1%} of the time."
        return sketch.plot(name, alt, form)


def _energized(edges: Sequence[Edge], origin: float, end: float) -> list[tuple[float, float]]:
    """Energized stretches within the piece. [ms]"""
    spans = []
    start = origin if edges and not edges[0].energizing else None
    for edge in edges:
        if edge.energizing:
            start = edge.time
        elif start is not None:
            spans.append((1e3 * (start - origin), 1e3 * (edge.time - origin)))
            start = None
    if start is not None:
        spans.append((1e3 * (start - origin), 1e3 * (end - origin)))
    return spans


def drive_trace(
    time: Array,
    dwell: Array,
    sensor: Array,
    speed: Array,
    spans: Sequence[Span],
    form: Format = Format.SVG,
    name: str = "trace",
) -> Plot:
    """Dwell, sensor and engine speed of one recording, regimes shaded and named above.

    Args:
        time: of each sample. [s]
        dwell: six-cylinder scale. [deg]
        sensor: exhaust sensor. [V]
        speed: engine speed. [1/s]
        spans: regimes found.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: a column differs in length from time, or there are fewer than two samples.
    """
    if len(time) < 2 or {len(dwell), len(sensor), len(speed)} != {len(time)}:
        raise ValueError("time, dwell, sensor and speed must have equal length, two samples or more")
    columns = (
        (dwell, "dwell, deg", AFTER, (0.0, 60.0)),
        (1e3 * np.asarray(sensor), "sensor, mV", BEFORE, None),
        (60 * np.asarray(speed), "engine, rpm", INK, None),
    )
    with Sketch(3.3, rows=(1.3, 1.0, 1.0)) as sketch:
        for axes, (values, label, color, limits) in zip(sketch.axes, columns, strict=True):
            x, y = thinned(np.asarray(time, float), np.asarray(values, float))
            axes.plot(x, y, color=color, linewidth=0.7)
            axes.set(xlim=(float(time[0]), float(time[-1])), ylabel=label)
            if limits:
                axes.set_ylim(limits)
            shade(axes, spans)
            axes.tick_params(labelbottom=axes is sketch.axes[-1])
        name_spans(sketch.axes[0], spans)
        sketch.axes[0].axhline(30, color=ALERT, linewidth=0.6, linestyle=(0, (4, 2)))
        sketch.axes[-1].set_xlabel("seconds")
        sketch.figure.align_ylabels(sketch.axes)
        return sketch.plot(name, _trace_words(time, spans), form)


def shade(axes: Axes, spans: Sequence[Span]) -> None:
    """Shade each stretch."""
    for span in spans:
        axes.axvspan(span.start, span.end, facecolor=WASH, edgecolor=HAIR, linewidth=0.6, zorder=0)


def name_spans(axes: Axes, spans: Sequence[Span]) -> None:
    """Name each stretch above the axes, where there is room for its name."""
    left, right = axes.get_xlim()
    for span in spans:
        share = (span.end - span.start) / (right - left)
        if share > 0.04:
            title = shortened(span.title, max(3, min(40, int(135 * share))))
            axes.text((span.start + span.end) / 2, 1.025, title, transform=axes.get_xaxis_transform(),
                      ha="center", va="bottom", fontsize=7, color=SOFT)  # fmt: skip


def _trace_words(time: Array, spans: Sequence[Span]) -> str:
    parts = [f"{span.title} from {span.start:.0f} to {span.end:.0f} s" for span in spans]
    regimes = ": " + "; ".join(parts) if parts else ", no regime found"
    return f"Dwell, sensor voltage and engine speed over {float(time[-1] - time[0]):.0f} seconds{regimes}."
