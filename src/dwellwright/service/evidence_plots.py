"""Plots of evidence as files, each kind of evidence in its own way."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault

if TYPE_CHECKING:
    from dwellwright.reports.plots.look import Format, Plot

ENDINGS = ("svg", "png")


def write_plot(draw: Callable[[Format], Plot], path: Path) -> Plot:
    """Draw into a new file; the ending of its name says the form.

    Raises:
        InputFault: another ending, the file is there already, or it cannot be written.
    """
    from dwellwright.reports.plots.look import Format

    ending = path.suffix.lower().removeprefix(".")
    if ending not in ENDINGS:
        raise InputFault("no such form of a plot", where=path.name, got=repr(ending),
                         wanted=" or ".join(f".{one}" for one in ENDINGS))  # fmt: skip
    drawn = draw(Format(ending))
    try:
        with open(path, "xb") as file:
            file.write(drawn.image)
    except OSError as fault:
        raise InputFault(
            "the plot cannot be written", where=str(path), got=fault.strerror or str(fault)
        ) from None
    return drawn
