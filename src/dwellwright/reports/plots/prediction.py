"""A prediction drawn: dwell over speed and over load, and the closed loop in time, of two cars against each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from dwellwright.reports.plots.look import AFTER, BEFORE, SCALE_TOP, Format, Plot, Sketch

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PredictedLine:
    """Dwell along an axis, of the first car and of the second.

    Args:
        label: of the axis, with its unit.
        at: where on the axis, shape (points,).
        first: dwell of the first car, shape (points,). [deg]
        second: of the second. [deg]
    """

    label: str
    at: Floats
    first: Floats
    second: Floats


@dataclass(frozen=True)
class PredictedLoop:
    """The settled loop in time: seconds, dwell [deg] and sensor [V], each of shape (rows,)."""

    time: Floats
    dwell: Floats
    sensor: Floats


def prediction_plot(
    names: tuple[str, str],
    lines: tuple[PredictedLine, PredictedLine],
    loops: tuple[PredictedLoop, PredictedLoop],
    point: str,
    form: Format = Format.SVG,
) -> Plot:
    """Two cars' dwell over speed and load, and their loops at one operating point below each other.

    Args:
        names: of the two cars, in words.
        lines: dwell over speed and over load.
        loops: of the two cars.
        point: operating point of the loops.
        form: of the file.
    """
    with Sketch(5.4, columns=(1.0, 1.0), rows=(1.25, 1.0, 1.0)) as sketch:
        for axes, line in zip(sketch.axes[:2], lines, strict=True):
            axes.plot(
                line.at, line.first, color=BEFORE, linestyle=(0, (4, 1.6)), linewidth=1.6, label=names[0]
            )
            axes.plot(line.at, line.second, color=AFTER, linewidth=1.6, label=names[1])
            axes.set_xlabel(line.label)
            _dwell_axis(axes)
        sketch.axes[0].legend(loc="lower left", bbox_to_anchor=(0, 1.0), ncols=2, frameon=False, fontsize=7.5)
        for column, (loop, color) in enumerate(zip(loops, (BEFORE, AFTER), strict=True)):
            dwell, sensor = sketch.axes[2 + column], sketch.axes[4 + column]
            dwell.plot(loop.time, loop.dwell, color=color, linewidth=1.2)
            dwell.set_title(f"{names[column]}: loop at {point}", loc="left")
            _dwell_axis(dwell)
            sensor.plot(loop.time, loop.sensor, color=color, linewidth=1.0)
            sensor.set(ylim=(0, 1.05), ylabel="sensor, V", xlabel="time, s")
        return sketch.plot("prediction", _words(names, loops, point), form)


def _dwell_axis(axes: Axes) -> None:
    axes.set(ylim=(0, SCALE_TOP), ylabel="dwell, deg")
    axes.set_yticks(range(0, 61, 15))


def _words(names: tuple[str, str], loops: tuple[PredictedLoop, PredictedLoop], point: str) -> str:
    parts = [
        f"{name}: mean dwell {float(loop.dwell.mean()):.1f} degrees, swinging between "
        f"{float(loop.dwell.min()):.1f} and {float(loop.dwell.max()):.1f}"
        for name, loop in zip(names, loops, strict=True)
    ]
    return f"Predicted dwell over speed and load, and the closed loop at {point}. " + "; ".join(parts) + "."
