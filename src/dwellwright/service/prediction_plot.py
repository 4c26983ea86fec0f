"""A prediction as a picture: a car against the same car with something changed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault
from dwellwright.reports.plots.look import Format, Plot
from dwellwright.reports.plots.prediction import PredictedLine, PredictedLoop, prediction_plot
from dwellwright.service.loop_preview import dwell_lines, loop_stretch


def drawn_prediction(
    sheet: SpecSheet,
    before: Sequence[str],
    after: Sequence[str],
    point: str = "idle",
    form: Format = Format.SVG,
) -> Plot:
    """Dwell over speed and load, and the simulated loop, of a car with some things off and with more of them.

    Args:
        sheet: of the unit.
        before: what is off on the first car, as in `prediction.prediction_of`.
        after: what is off on the second.
        point: operating point of the loops.
        form: of the picture.

    Raises:
        InputFault: a change that is not understood, or no such operating point.
    """
    lines = [
        PredictedLine(one.label, one.at, one.moved, two.moved)
        for one, two in zip(dwell_lines(sheet, before), dwell_lines(sheet, after), strict=True)
    ]
    loops = [
        PredictedLoop(one.time, one.dwell, one.sensor)
        for one in (loop_stretch(sheet, before, point), loop_stretch(sheet, after, point))
    ]
    names = ("as on the sheet" if not before else "before", "as on the sheet" if not after else "changed")
    return prediction_plot(names, (lines[0], lines[1]), (loops[0], loops[1]), point, form)


def plot_format(path: Path) -> Format:
    """Format of a picture by its file's name.

    Raises:
        InputFault: neither PNG nor SVG.
    """
    ending = path.suffix.lower().lstrip(".")
    if ending not in Format._value2member_map_:
        raise InputFault(
            "the picture's format is not known", where=str(path), wanted=".png or .svg", got=repr(ending)
        )
    return Format(ending)
