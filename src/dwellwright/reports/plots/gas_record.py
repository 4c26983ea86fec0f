"""Exhaust gas recorded in time: lambda and the gases one below the other, with what was averaged shaded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from dwellwright.languages.catalogue import translated
from dwellwright.reports.plots.look import AFTER, BEFORE, INK, SOFT, WASH, Format, Plot, Sketch
from dwellwright.reports.plots.moving import Figure, Moving, finished, framed, legend, pointed_at, stroke
from dwellwright.reports.plots.recordings import Span, name_spans, shade

Array = NDArray[np.float64]
TRACK_HEIGHT, AXIS_ROOM = 190, 66
"""Of a track to move along, and left of it, so that all begin at one line. [px]"""
LAMBDA = "lambda by gas"
TRACKS = ((("CO", "co", 100.0), ("O₂", "o2", 100.0)), (("CO₂", "co2", 100.0),), (("HC", "hc", 1e6),))
"""What shares a track: its sign, its field in a record, and how many of its units make one."""


@dataclass(frozen=True)
class GasRecord:
    """Gas recorded in time; each column of shape (n,).

    Args:
        time: [s]
        ratio: lambda, NaN where the gas is no exhaust. [-]
        co, co2, o2, hc: dry mole fractions. [-]
        spans: the settled stretches whose means count, named by place and mean lambda.
    """

    time: Array
    ratio: Array
    co: Array
    co2: Array
    o2: Array
    hc: Array
    spans: tuple[Span, ...]

    @property
    def words(self) -> str:
        """The same in words."""
        parts = "; ".join(f"{one.title} from {one.start:.0f} to {one.end:.0f} s" for one in self.spans)
        return f"Exhaust gas over {self.time[-1] - self.time[0]:.0f} seconds: {parts}."


def gas_over_time(
    record: GasRecord, band: tuple[float, float], form: Format = Format.SVG, name: str = "gas"
) -> Plot:
    """Lambda against its band, then the gases, over the time of a record."""
    with Sketch(4.3, rows=(1.3, 1.0, 0.8, 0.8)) as sketch:
        first, *others = sketch.axes
        for end in band:
            first.axhline(end, color=SOFT, linewidth=0.7, linestyle=(0, (4, 2)))
        first.plot(record.time, record.ratio, color=INK, linewidth=1.0)
        first.set_ylabel(LAMBDA)
        first.set_ylim(*_ends(record, record.ratio, band))
        for axes, parts in zip(others, TRACKS, strict=True):
            _gases(axes, record, parts)
        for axes in sketch.axes:
            axes.set_xlim(float(record.time[0]), float(record.time[-1]))
            shade(axes, record.spans)
            axes.tick_params(labelbottom=axes is sketch.axes[-1])
        name_spans(first, record.spans)
        sketch.axes[-1].set_xlabel("seconds")
        sketch.figure.align_ylabels(sketch.axes)
        return sketch.plot(name, record.words, form)


def _gases(axes: Axes, record: GasRecord, parts: Sequence[tuple[str, str, float]]) -> None:
    for index, (sign, field, many) in enumerate(parts):
        axes.plot(record.time, many * getattr(record, field), color=(AFTER, BEFORE)[index], linewidth=1.0,
                  linestyle=("-", (0, (4, 2)))[index], label=sign)  # fmt: skip
    axes.set_ylim(0.0, _top(record, parts))
    if len(parts) > 1:
        axes.legend(loc="upper right", frameon=False, fontsize=7, ncols=len(parts), borderaxespad=0.0)
    axes.set_ylabel(_label(parts))


def _label(parts: Sequence[tuple[str, str, float]]) -> str:
    unit = "%" if parts[0][2] == 100.0 else "ppm"
    return f"{', '.join(sign for sign, _, _ in parts)}, {unit}"


def _settled(record: GasRecord, values: Array) -> Array:
    """What of a column lies in settled stretches: the air before the probe was in would dwarf it."""
    inside = np.zeros(len(record.time), bool)
    for one in record.spans:
        inside |= (record.time >= one.start) & (record.time <= one.end)
    shown: Array = values[inside & np.isfinite(values)]
    return shown


def _ends(record: GasRecord, values: Array, band: tuple[float, float]) -> tuple[float, float]:
    """Ends of an axis that holds what was settled, and the band."""
    shown = _settled(record, values)
    low, high = min(*band, *shown), max(*band, *shown)
    air = 0.15 * (high - low)
    return float(low - air), float(high + air)


def _top(record: GasRecord, parts: Sequence[tuple[str, str, float]]) -> float:
    """Upper end of a track of gases that holds what was settled."""
    return 1.4 * max(
        float(many * _settled(record, getattr(record, field)).max(initial=1e-9)) for _, field, many in parts
    )


def moving_gas_record(record: GasRecord, band: tuple[float, float]) -> tuple[Moving, ...]:
    """The same to move along, a figure for each track; all move together."""
    ratio = _track(record, LAMBDA, _ends(record, record.ratio, band))
    for end in band:
        stroke(ratio, end, upright=False)
    _line(ratio, record, "lambda", record.ratio, INK, "solid", "{:.3f}")
    figures = [finished(ratio, record.words)]
    for parts in TRACKS:
        drawn = _track(record, _label(parts), (0.0, _top(record, parts)))
        for index, (sign, field, many) in enumerate(parts):
            values = many * getattr(record, field)
            _line(drawn, record, sign, values, (AFTER, BEFORE)[index], ("solid", "dashed")[index],
                  "{:.2f} %" if many == 100.0 else "{:.0f} ppm", named=len(parts) > 1)  # fmt: skip
        if len(parts) > 1:
            legend(drawn, hiding=True)
        figures.append(finished(drawn, _settled_words(record, parts)))
    return tuple(figures)


def _settled_words(record: GasRecord, parts: Sequence[tuple[str, str, float]]) -> str:
    """Ends of what was settled, for those who cannot see it."""
    said = []
    for sign, field, many in parts:
        shown = many * _settled(record, getattr(record, field))
        said.append(f"{sign} {shown.min():.4g} … {shown.max():.4g}")
    return f"{_label(parts)}: {'; '.join(said)}"


def _track(record: GasRecord, label: str, ends: tuple[float, float]) -> Figure:
    """An empty track over the record's time with its settled stretches shaded."""
    from bokeh.models import BoxAnnotation, Range1d

    drawn = framed(TRACK_HEIGHT, "seconds", label, (float(record.time[0]), float(record.time[-1])))
    drawn.y_range, drawn.min_border_left = Range1d(*ends), AXIS_ROOM
    for one in record.spans:
        drawn.add_layout(BoxAnnotation(left=one.start, right=one.end, fill_color=WASH, line_color=SOFT,
                                       line_dash="dotted", level="image"))  # fmt: skip
    return drawn


def _line(
    drawn: Figure, record: GasRecord, sign: str, values: Array, color: str, dash: str, form: str, *,
    named: bool = False,
) -> None:  # fmt: skip
    from bokeh.models import ColumnDataSource

    told = [f"{time:.1f} s: {translated(sign)} {form.format(value)}" for time, value in
            zip(record.time, values, strict=True)]  # fmt: skip
    source = ColumnDataSource({"x": record.time.tolist(), "y": values.tolist(), "told": told})
    key = {"legend_label": sign} if named else {}
    drawn.line("x", "y", source=source, color=color, line_width=2, line_dash=dash, **key)
    marks = drawn.scatter("x", "y", source=source, size=6, line_color=None, fill_color=color, fill_alpha=0.0)
    pointed_at(drawn, marks, "vline")
