"""Where a steady stretch changes level: speed in gear, another cruise, a load switched on."""

from __future__ import annotations

import numpy as np

from dwellwright.compiled import njit
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.grid import Grid

SHORTEST_LEVEL = 8.0
"""A level lasts at least this long. [s] (assumed)"""
_STEPS = (
    (Channel.ENGINE_SPEED, 0.06, 1.0),
    (Channel.MANIFOLD_PRESSURE, 0.06, 3000.0),
    (Channel.ROAD_SPEED, 0.06, 1.0),
)
"""Channel, and the change that is another level: share of its mean and at least so much. (assumed)"""
_MOST_POINTS = 2000


def level_changes(grid: Grid, first: int, end: int) -> set[int]:
    """Bins, counted from `first`, at which another level begins."""
    seen = [(grid.means[c], share, least) for c, share, least in _STEPS if c in grid.means]
    least_bins = grid.bins(SHORTEST_LEVEL)
    if not seen or end - first < 2 * least_bins:
        return set()
    thin = max(1, (end - first) // _MOST_POINTS)
    count = (end - first) // thin
    data = np.empty((len(seen), count))
    for row, (values, share, least) in zip(data, seen, strict=True):
        _scaled(values[first:end], thin, share, least, row)
    cuts = np.zeros(count + 1, np.int64)
    found = int(_cuts(data, max(2, least_bins // thin), cuts))
    return {int(cut) * thin for cut in cuts[:found]}


@njit(cache=True)
def _scaled(values, thin, share, least, out):  # type: ignore[no-untyped-def] # numba infers
    """Means of `thin` neighbours, about the mean of all, in steps that count as another level."""
    mean = values.mean()
    step = max(share * abs(mean), least)
    for i in range(out.size):
        out[i] = (values[i * thin : (i + 1) * thin].mean() - mean) / step


@njit(cache=True)
def _cuts(data, least, cuts):  # type: ignore[no-untyped-def] # numba infers
    """Binary segmentation on the mean: cut where the two sides differ by more than one step, then again within."""
    stack = [(0, data.shape[1])]
    found = 0
    while len(stack) > 0:
        first, end = stack.pop()
        count = end - first
        if count < 2 * least:
            continue
        best, best_gain, best_gap = -1, 0.0, 0.0
        totals = np.zeros(data.shape[0])
        left = np.zeros(data.shape[0])
        for c in range(data.shape[0]):
            totals[c] = data[c, first:end].sum()
        for i in range(count - least):
            size = i + 1
            gain, widest = 0.0, 0.0
            for c in range(data.shape[0]):
                left[c] += data[c, first + i]
                gap = left[c] / size - (totals[c] - left[c]) / (count - size)
                gain += gap * gap * size * (count - size) / count
                widest = max(widest, abs(gap))
            if size >= least and gain > best_gain:
                best, best_gain, best_gap = first + size, gain, widest
        if best_gap > 1.0:
            cuts[found] = best
            found += 1
            stack.append((first, best))
            stack.append((best, end))
    return found
