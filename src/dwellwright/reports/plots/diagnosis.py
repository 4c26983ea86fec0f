"""A diagnosis on one picture: how likely each cause is, dwell as explained and as read, dwell before and after."""

from __future__ import annotations

from collections.abc import Sequence

from dwellwright.reports.plots.causes import CauseBar, cause_bars_height, cause_words, draw_cause_bars
from dwellwright.reports.plots.dwell import DwellRow, compared_height, compared_words, draw_compared
from dwellwright.reports.plots.look import Format, Plot, Sketch

EXPLAINED, WORK = ("best explanation", "read"), ("as found", "as left")


def diagnosis_plot(
    causes: Sequence[CauseBar],
    explained: Sequence[DwellRow],
    work: Sequence[DwellRow] = (),
    form: Format = Format.SVG,
) -> Plot:
    """Bars of the causes over the dwell of each regime; a part without rows is left out.

    Args:
        causes: the likeliest first.
        explained: dwell of the best explanation beside what was read.
        work: dwell before and after the work.
        form: file format.

    Raises:
        ValueError: no causes.
    """
    if not causes:
        raise ValueError("there must be at least one cause to draw")
    parts = [(rows, names, title) for rows, names, title in (
        (explained, EXPLAINED, "Dwell: best explanation and read"),
        (work, WORK, "Dwell: before and after the work"),
    ) if rows]  # fmt: skip
    heights = [cause_bars_height(causes) + 0.3, *(compared_height(rows) + 0.35 for rows, _, _ in parts)]
    with Sketch(sum(heights), rows=heights) as sketch:
        draw_cause_bars(sketch.axes[0], causes)
        sketch.axes[0].set_title("How likely each cause is", loc="left", fontweight="bold")
        said = [cause_words(causes)]
        for axes, (rows, names, title) in zip(sketch.axes[1:], parts, strict=True):
            draw_compared(axes, rows, names)
            axes.set_title(title, loc="left", fontweight="bold", pad=18)
            axes.set_xlabel("mean dwell, degrees on the six-cylinder scale")
            said.append(f"{title}. {compared_words(rows, names)}")
        return sketch.plot("diagnosis", " ".join(said), form)
