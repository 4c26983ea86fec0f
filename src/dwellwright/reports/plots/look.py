"""The one look of every plot: ink on paper, two accents told apart by shape as well as color."""

from __future__ import annotations

import io
import re
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from textwrap import wrap
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.ticker import FixedFormatter

from dwellwright.languages.catalogue import translated
from dwellwright.languages.language import HOME, spoken
from dwellwright.reports.printable import BREAK, printable

INK, SOFT, HAIR, WASH = "#1c2830", "#5c6970", "#c9d0d3", "#eef1f1"
BEFORE, AFTER, ALERT = "#c98a1b", "#1f6070", "#9c3b2a"
"""Amber, petrol, brick. Amber and petrol differ on the blue-yellow axis that red-green blindness leaves, and
by more than 20 points of lightness, so gray prints keep them apart; markers and hatches differ as well."""

WRAPPED = "\n "
"""Between the lines of a wrapped label: the space, unseen beside an upright axis, tells it from lines of their own."""

WIDTH = 6.7
"""Inches: the text width of the sheet."""

SCALE_TOP = 60.0
"""Degrees of dwell that are full duty on the six-cylinder scale."""

_SETTINGS: dict[Any, Any] = {
    "font.family": "DejaVu Sans", "font.size": 8.0, "axes.titlesize": 8.5, "axes.labelsize": 8.0,
    "axes.edgecolor": HAIR, "axes.labelcolor": SOFT, "axes.linewidth": 0.7, "text.color": INK,
    "xtick.color": SOFT, "ytick.color": SOFT, "xtick.labelcolor": INK, "ytick.labelcolor": INK,
    "xtick.major.width": 0.7, "ytick.major.width": 0.7, "xtick.labelsize": 7.5, "ytick.labelsize": 7.5,
    "hatch.linewidth": 0.6, "hatch.color": INK, "svg.hashsalt": "dwellwright", "svg.fonttype": "path",
    "path.simplify": True, "agg.path.chunksize": 20_000, "text.parse_math": False, "axes.unicode_minus": True,
}  # fmt: skip
_LOCK = threading.Lock()


class Format(StrEnum):
    """File format of a plot."""

    SVG = "svg"
    PNG = "png"


@dataclass(frozen=True)
class Plot:
    """A drawn plot.

    Args:
        name: short, unique within a sheet, fit for a file name.
        image: file content.
        format: of the image.
        alt: what it shows, in words, for those who cannot see it.
    """

    name: str
    image: bytes
    format: Format
    alt: str

    @property
    def file_name(self) -> str:
        """Name with extension."""
        return f"{self.name}.{self.format.value}"


class Sketch:
    """A figure being drawn under the house settings; settings are process-wide, so one is drawn at a time."""

    def __init__(
        self, height: float, columns: Sequence[float] = (1.0,), rows: Sequence[float] = (1.0,)
    ) -> None:
        self._height, self._columns, self._rows = height, list(columns), list(rows)

    def __enter__(self) -> Sketch:
        _LOCK.acquire()
        self._context = matplotlib.rc_context(_SETTINGS)
        self._context.__enter__()
        self.figure = Figure(figsize=(WIDTH, self._height), layout="constrained", facecolor="white")
        FigureCanvasAgg(self.figure)
        self.figure.get_layout_engine().set(w_pad=0.03, h_pad=0.03)  # type: ignore[union-attr,call-arg]
        grid = self.figure.add_gridspec(
            len(self._rows), len(self._columns), width_ratios=self._columns, height_ratios=self._rows
        )
        self.axes = [
            self.figure.add_subplot(grid[r, c])
            for r in range(len(self._rows))
            for c in range(len(self._columns))
        ]
        for axes in self.axes:
            calm(axes)
        return self

    def __exit__(self, *_: object) -> None:
        self._context.__exit__(None, None, None)
        _LOCK.release()

    def plot(self, name: str, alt: str, form: Format) -> Plot:
        """The finished plot; the file carries no date, so equal data give equal bytes."""
        if spoken() != HOME:
            _speak(self.figure)
        sink = io.BytesIO()
        metadata = {"Date": None, "Creator": None} if form is Format.SVG else {"Software": None}
        self.figure.savefig(sink, format=form.value, dpi=160, metadata=metadata)
        image = sink.getvalue()
        return Plot(name, numbered_clips(image) if form is Format.SVG else image, form, translated(alt))


def _speak(figure: Figure) -> None:
    """Write every text of a figure in the language spoken now."""
    for axes in figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            labels = axis.get_major_formatter()
            if isinstance(labels, FixedFormatter):
                labels.seq = [_each_line(one) for one in labels.seq]
    for text in figure.findobj(Text):
        text.set_text(_each_line(text.get_text()))


def _each_line(text: str) -> str:
    """The lines of a text; one that was cut or wrapped was translated before."""
    if WRAPPED in text:
        return text
    return "\n".join(line if line.endswith("…") else translated(line) for line in text.split("\n"))


def numbered_clips(svg: bytes) -> bytes:
    """The same drawing with its clip paths named by their order; the library names them by where they lie in memory."""
    names = dict.fromkeys(re.findall(rb'<clipPath id="(p[0-9a-f]+)"', svg))
    for number, name in enumerate(names):
        svg = re.sub(rb"\b" + name + rb"\b", b"clip%d" % number, svg)
    return svg


def calm(axes: Axes) -> None:
    """No box, no grid but what a plot asks for."""
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(length=2.5)


def shortened(text: str, most: int) -> str:
    """A label that fits, in the language spoken now; the cut is shown."""
    flat = printable(translated(text)).replace(BREAK, "")
    return flat if len(flat) <= most else flat[: most - 1].rstrip() + "…"


def in_lines(text: str, most: int) -> str:
    """A label in as many lines as it needs, in the language spoken now: nothing is cut off."""
    return WRAPPED.join(wrap(printable(translated(text)).replace(BREAK, ""), most))
