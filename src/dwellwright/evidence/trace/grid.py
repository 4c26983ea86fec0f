"""A recording on an even grid of short bins, on which the operating regimes are found."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from dwellwright.compiled import njit
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.trace import WORKERS, Trace, Values

BIN_TIME = 0.5
"""Width of a bin, unless the recording is slower. [s]"""
LONGEST_GAP = 5.0
"""Gaps are shortened to this on the grid, so that a clock jump costs nothing. [s]"""


@dataclass(frozen=True)
class Grid:
    """Bin means of each channel.

    Args:
        width: of a bin. [s]
        starts: first row of each bin and, last, the number of rows. Shape (bins + 1,)
        time: of the first row of each bin. [s], shape (bins,)
        means: bin mean of each channel present, blanks filled from the neighbours. Shape (bins,) each.
        duty_square: bin mean of the squared duty, for local variation; None without duty.
        gap: bins in which the recording was interrupted for longer than `LONGEST_GAP`.
    """

    width: float
    starts: NDArray[np.int64]
    time: Values
    means: dict[Channel, Values]
    duty_square: Values | None
    gap: NDArray[np.bool_]

    @property
    def size(self) -> int:
        """Number of bins."""
        return int(self.time.size)

    def bins(self, seconds: float) -> int:
        """How many bins make up a time, at least one."""
        return max(1, round(seconds / self.width))


@njit(cache=True)
def _bin_starts(time, width, longest, starts, gap):  # type: ignore[no-untyped-def] # numba infers
    bins, edge, clock = 1, width, 0.0
    starts[0] = 0
    for i in range(1, time.size):
        step = time[i] - time[i - 1]
        if step > longest:
            gap[bins - 1] = True
            step = longest
        clock += step
        while clock >= edge and bins < starts.size - 1:
            starts[bins] = i
            bins += 1
            edge += width
    starts[bins] = time.size
    return bins


@njit(cache=True)
def _covered(time, longest):  # type: ignore[no-untyped-def] # numba infers
    total = 0.0
    for i in range(time.size - 1):
        total += min(time[i + 1] - time[i], longest)
    return total


@njit(cache=True, nogil=True)
def _bin_sums(x, offset, starts, total, squares, count):  # type: ignore[no-untyped-def] # numba infers
    """Add one piece of a column, from row `offset` on, to the sums of its bins."""
    b = np.searchsorted(starts, offset, side="right") - 1
    i = 0
    while i < x.size:
        last = min(starts[b + 1] - offset, x.size)
        here, here_squares, here_count = 0.0, 0.0, 0
        while i < last:
            v = x[i]
            if v == v:
                here += v
                here_squares += v * v
                here_count += 1
            i += 1
        total[b] += here
        squares[b] += here_squares
        count[b] += here_count
        b += 1


def grid_of(trace: Trace) -> Grid:
    """The recording's bins."""
    time = trace.time
    steps = np.diff(time[:100_000])
    width = max(BIN_TIME, 1.2 * float(np.median(steps)))
    length = float(_covered(time, LONGEST_GAP))
    room = int(length / width) + 3
    starts, gap = np.zeros(room + 1, np.int64), np.zeros(room + 1, np.bool_)
    count = int(_bin_starts(time, width, LONGEST_GAP, starts, gap))
    starts = starts[: count + 1]
    means: dict[Channel, Values] = {}
    duty_square = None
    present = [c for c in Channel if c is not Channel.TIME and trace.has(c)]
    with ThreadPoolExecutor(WORKERS) as pool:
        binned = pool.map(lambda channel: _binned(trace.frame[channel], starts), present)
        for channel, (mean, square) in zip(present, binned, strict=True):
            if np.isfinite(mean).sum() < 2:
                continue
            means[channel] = filled(mean)
            if channel is Channel.DUTY:
                duty_square = filled(square)
    return Grid(width, starts, time[np.minimum(starts[:-1], time.size - 1)], means, duty_square, gap[:count])


def _binned(column: pl.Series, starts: NDArray[np.int64]) -> tuple[Values, Values]:
    """Bin means of a column and of its square, piece by piece as it lies in memory."""
    total, squares, count = (np.zeros(starts.size - 1) for _ in range(3))
    offset = 0
    for piece in column.get_chunks():
        _bin_sums(piece.to_numpy(), offset, starts, total, squares, count)
        offset += piece.len()
    with np.errstate(invalid="ignore"):
        return total / count, squares / count


def filled(values: Values) -> Values:
    """Blanks replaced by the last reading before, or the first after."""
    good = np.isfinite(values)
    if good.all() or not good.any():
        return values
    index = np.where(good, np.arange(values.size), 0)
    np.maximum.accumulate(index, out=index)
    index[: int(np.argmax(good))] = int(np.argmax(good))
    return values[index]
