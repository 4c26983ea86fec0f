"""A sound recording of the wire drawn: the mean pulse, and dwell over time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dwellwright.reports.plots.look import AFTER, ALERT, INK, Format, Plot, Sketch
from dwellwright.reports.plots.recordings import thinned

Array = NDArray[np.float64]


def pulse_plot(
    shape: tuple[Array, Array], sliding: tuple[Array, Array], said: str, form: Format = Format.SVG,
    name: str = "waveform",
) -> Plot:  # fmt: skip
    """The mean pulse over its time, and the sliding dwell.

    Args:
        shape: time [s] and level of the mean pulse.
        sliding: time [s] and dwell [deg, six-cylinder scale].
        said: what the recording says, in words.
        form: file format.
        name: of the plot.

    Raises:
        ValueError: times and values differ in number.
    """
    if shape[0].size != shape[1].size or sliding[0].size != sliding[1].size:
        raise ValueError("as many times as values are needed")
    with Sketch(3.0, rows=(1.0, 1.2)) as sketch:
        top, low = sketch.axes
        top.plot(*thinned(1e3 * shape[0], shape[1]), color=INK, linewidth=0.9)
        top.set(xlabel="milliseconds from energizing", ylabel="level", yticks=[])
        top.set_title(said, loc="left")
        low.axhline(30, color=ALERT, linewidth=0.6, linestyle=(0, (4, 2)))
        low.plot(*thinned(*sliding), color=AFTER, linewidth=1.1, marker="o" if sliding[0].size < 3 else "")
        low.set(xlabel="seconds", ylabel="dwell, deg", ylim=(0, 60))
        sketch.figure.align_ylabels(sketch.axes)
        return sketch.plot(name, f"Mean pulse of the solenoid's wire and dwell over time: {said}.", form)
