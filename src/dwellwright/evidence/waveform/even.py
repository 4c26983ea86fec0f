"""A time column made even: oscilloscopes round, drop and pause."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform.files import HIGHEST_RATE, LOWEST_RATE
from dwellwright.evidence.waveform.types import Floats


def evenly(
    name: str, skipped: int, time: Floats, levels: Floats
) -> tuple[float, NDArray[np.float64], tuple[str, ...]]:
    """Sample rate [Hz], levels on an even grid, and sentences about what was done.

    Args:
        name: of the file, for messages.
        skipped: lines above the first row.
        time: shape (n,). [s]
        levels: shape (columns, n).

    Raises:
        InputFault: time runs backward, stands still, jumps, or its steps are too long or too short.
    """
    step = np.diff(time)
    _refuse_time(name, skipped, time, step)
    even = float(time[-1] - time[0]) / (len(time) - 1)
    notes: tuple[str, ...] = ()
    if float(np.abs(time - time[0] - even * np.arange(len(time))).max()) > 1.5 * even:
        span, even = even * (len(time) - 1), float(np.median(step[step > 0]))
        if span / even > 20 * len(time):
            raise InputFault(
                "the time column jumps",
                where=name,
                wanted=f"steps of about {even:g} s",
                got=f"{float(step.max()):g} s",
                remedy="Export one single capture with even steps.",
            )
        grid = np.arange(0.0, span, even) + time[0]
        levels = np.stack([np.interp(grid, time, row) for row in levels])
        worst = f"largest {step.max() * 1e3:.3g} ms"
        notes = (f"Time steps are uneven ({worst}); volts between were interpolated.",)
    rate = 1 / even
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise InputFault(
            "the time steps do not fit a recording of pulses",
            where=name,
            wanted=f"{1e3 / HIGHEST_RATE:g} to {1e3 / LOWEST_RATE:g} ms per row",
            got=f"{even * 1e3:.4g} ms",
            remedy="Name the unit of time in the header, for instance time (ms).",
        )
    return rate, levels, notes


def _refuse_time(name: str, skipped: int, time: Floats, step: Floats) -> None:
    if (step < 0).any():
        place = int(np.argmax(step < 0))
        raise InputFault(
            "time runs backward",
            where=f"{name}, row {place + skipped + 2}",
            wanted="time that grows from row to row",
            got=f"{time[place + 1]:g} s after {time[place]:g} s",
            remedy="Export one single capture.",
        )
    if not len(step) or time[-1] <= time[0]:
        raise InputFault(
            "time stands still",
            where=name,
            wanted="time that grows",
            got=f"{len(time)} rows at {time[0]:g} s",
        )
