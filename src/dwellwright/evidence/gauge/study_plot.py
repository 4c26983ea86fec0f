"""The picture of a gauge study: every reading by part and hand, and where the spread comes from."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from dwellwright.evidence.gauge.study import GaugeStudy
from dwellwright.evidence.gauge.study_file import StudyTable
from dwellwright.units import from_si, step_from_si

MARKERS = "osD^vP*X"
GREYS = ("#000000", "#1f77b4", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00", "#555555")


def study_figure(table: StudyTable, study: GaugeStudy) -> Figure:
    """Readings by part, one mark for each hand, beside the standard deviations of gauge, hands and parts."""
    figure = Figure(figsize=(9.0, 4.2), layout="constrained")
    FigureCanvasAgg(figure)
    left, right = figure.subplots(1, 2, width_ratios=(3, 1.4))
    parts, hands = list(dict.fromkeys(table.parts)), list(dict.fromkeys(table.hands))
    for index, hand in enumerate(hands):
        mine = [i for i, one in enumerate(table.hands) if one == hand]
        places = np.array([parts.index(table.parts[i]) for i in mine]) + (index - (len(hands) - 1) / 2) * 0.18
        values = [from_si(table.values[i], table.unit) for i in mine]
        look = {"marker": MARKERS[index % len(MARKERS)], "color": GREYS[index % len(GREYS)]}
        left.plot(places, values, linestyle="none", markersize=5, label=hand, **look)
    left.set_xticks(range(len(parts)), parts)
    left.set(xlabel="part", ylabel=f"reading, {table.unit}", title="Readings by part and hand")
    left.grid(axis="y", alpha=0.3)
    left.legend(title="hand", fontsize="small")
    bars = {
        "same\nhand": study.repeatability,
        "hand to\nhand": study.reproducibility,
        "whole\ngauge": study.gauge,
        "part to\npart": study.part,
    }
    right.bar(list(bars), [step_from_si(one, table.unit) for one in bars.values()], color="#666666")
    right.set(ylabel=f"standard deviation, {table.unit}", title=f"Gauge is {study.share:.0%} of the spread")
    right.tick_params(axis="x", labelsize="small")
    return figure


def study_picture(table: StudyTable, study: GaugeStudy, form: str = "svg") -> bytes:
    """The figure as `svg`, `png` or `pdf`."""
    if form not in ("svg", "png", "pdf"):
        raise ValueError(f"a picture is svg, png or pdf, got {form!r}")
    stream = BytesIO()
    facts: dict[str, str | None] = {"Date": None} if form == "svg" else {}
    study_figure(table, study).savefig(stream, format=form, dpi=110, metadata=facts or None)
    return stream.getvalue()
