"""A test with a response drawn: before and during, and the change against what counts as an answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.lines import Line2D

from dwellwright.reports.plots.look import (
    AFTER,
    ALERT,
    HAIR,
    INK,
    SOFT,
    WASH,
    Format,
    Plot,
    Sketch,
    in_lines,
)

LABEL_LINE = 40
"""Most characters in one line of a test's name."""


def response_plot(
    answers: Sequence[Mapping[str, Any]], form: Format = Format.SVG, name: str = "responses"
) -> Plot:
    """The change that each test made, with its interval, over the smallest change that counts.

    Args:
        answers: `label`, `change`, `low`, `high`, `unit`, `smallest`, `direction`, `expected` of each.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: no answers.
    """
    if not answers:
        raise ValueError("there must be at least one answer to draw")
    reach = min(
        12.0,
        1.15 * max(1.5, *(abs(one[end]) / one["smallest"] for one in answers for end in ("low", "high"))),
    )
    with Sketch(1.0 + 0.42 * len(answers)) as sketch:
        (axes,) = sketch.axes
        axes.axvspan(-0.5, 0.5, facecolor=WASH, edgecolor=SOFT, linewidth=0.5, zorder=0)
        axes.axvline(0, color=SOFT, linewidth=0.7, linestyle=(0, (3, 2)))
        for row, one in enumerate(answers):
            color = AFTER if one["direction"] == one["expected"] else ALERT if one["direction"] else SOFT
            axes.axhline(row, color=HAIR, linewidth=0.6, zorder=0)
            ends = [min(max(one[end] / one["smallest"], -reach), reach) for end in ("low", "high", "change")]
            axes.plot(ends[:2], (row, row), color=color, linewidth=1.8)
            axes.plot(ends[2], row, marker="o" if color == AFTER else "s" if color == ALERT else "D", color=color,
                      markersize=6, markerfacecolor="white" if color == SOFT else color, zorder=3)  # fmt: skip
            said = f"{one['change']:+.3g} {one['unit']}, {one['direction'] or 'no clear answer'}"
            side = "right" if ends[2] > 0.6 * reach else "left" if ends[2] < -0.6 * reach else "center"
            axes.annotate(
                said, (ends[2], row), (0, 6), textcoords="offset points", fontsize=7, color=INK, ha=side
            )
        axes.set(xlim=(-reach, reach), ylim=(len(answers) - 0.5, -0.75),
                 xlabel="change over the smallest that counts (shaded: stays)")  # fmt: skip
        axes.set_yticks(range(len(answers)), [in_lines(one["label"], LABEL_LINE) for one in answers])
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        _key(sketch)
        parts = (
            f"{one['label']}: {one['change']:+.3g} {one['unit']}, expected {one['expected']}"
            for one in answers
        )
        return sketch.plot(name, f"Tests with a response. {'; '.join(parts)}.", form)


def _key(sketch: Sketch) -> None:
    """What the marks mean, below the plot."""
    meanings = (("o", AFTER, AFTER, "as a sound car answers"), ("s", ALERT, ALERT, "another way"),
                ("D", SOFT, "white", "no clear answer"))  # fmt: skip
    handles = [Line2D([], [], marker=mark, color=ink, markerfacecolor=fill, label=words, markersize=6, linewidth=1.8)
               for mark, ink, fill, words in meanings]  # fmt: skip
    sketch.figure.legend(handles=handles, loc="outside lower center", ncols=3, frameon=False, fontsize=7.5)
