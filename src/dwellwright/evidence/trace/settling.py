"""How much of the beginning of a stretch is still a transient, learned from the stretch itself."""

from __future__ import annotations

import numpy as np

from dwellwright.evidence.trace.trace import Values

BLOCK_TIME = 1.0
LEAST_SETTLING = 12.0
"""Wall film, transport and the loop's own return are never over sooner than this. [s] (assumed)"""
GOOD_ENOUGH = 1.2
"""The earliest cut is taken whose squared error is within this factor of the least: a loop that wanders
would otherwise be cut at random. (assumed)"""
MOST_SHARE = 0.5
"""At most so much of a stretch is given up to settling."""
WITHOUT_END = 1.0
"""Taken off the end, where the next manoeuvre has begun before the regimes show it. [s] (assumed)"""


def settled_rows(time: Values, channels: list[Values], first: int, end: int) -> tuple[int, int]:
    """Rows of a stretch that belong to its steady part.

    The beginning is cut where the squared standard error of what remains is least (MSER [1]): cutting
    further would lose more by shortness than it gains by steadiness. Half of a stretch is kept in any case.

    Args:
        time: of all rows. [s]
        channels: records that must have settled, each over all rows.
        first: first row of the stretch.
        end: row after its last.

    References:
        [1] White (1997), Simulation 69(6):323-334.
    """
    begin, finish = float(time[first]), float(time[end - 1])
    length = finish - begin
    least = min(LEAST_SETTLING, length / 4)
    finish -= min(WITHOUT_END, length / 10)
    cuts = [least]
    for channel in channels:
        blocks = _blocks(time[first:end] - begin, channel[first:end], finish - begin)
        if blocks.size >= 8:
            cuts.append(BLOCK_TIME * _mser(blocks))
    cut = min(max(cuts), MOST_SHARE * length)
    kept_first = first + int(np.searchsorted(time[first:end], begin + cut))
    kept_end = first + int(np.searchsorted(time[first:end], finish, side="right"))
    return (kept_first, kept_end) if kept_end - kept_first >= 3 else (first, end)


def _blocks(time: Values, values: Values, length: float) -> Values:
    good = np.isfinite(values)
    index = (time[good] / BLOCK_TIME).astype(np.int64)
    count = int(length / BLOCK_TIME)
    inside = index < count
    sums = np.bincount(index[inside], values[good][inside], count)
    sizes = np.bincount(index[inside], minlength=count)
    blocks: Values = sums[sizes > 0] / sizes[sizes > 0]
    return blocks


def _mser(blocks: Values) -> int:
    """Blocks to leave out at the beginning."""
    count = blocks.size
    centred = blocks - blocks.mean()
    kept = np.arange(count, 0, -1)
    sums = np.cumsum(centred[::-1])[::-1]
    squares = np.cumsum(centred[::-1] ** 2)[::-1]
    error = (squares - sums**2 / kept) / kept.astype(np.float64) ** 2
    tried = error[: count // 2 + 1]
    return int(np.argmax(tried <= GOOD_ENOUGH * tried.min()))
