"""Where a steady stretch changes level: speed in gear, another cruise, a load switched on."""

from __future__ import annotations

import numpy as np

from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.grid import Grid
from dwellwright.evidence.trace.trace import Values

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
    scaled = []
    for channel, share, least in _STEPS:
        values = grid.means.get(channel)
        if values is not None:
            part = values[first:end]
            scaled.append((part - part.mean()) / max(share * abs(float(part.mean())), least))
    if not scaled or end - first < 2 * grid.bins(SHORTEST_LEVEL):
        return set()
    data = np.vstack(scaled)
    thin = max(1, data.shape[1] // _MOST_POINTS)
    usable = data.shape[1] // thin * thin
    thinned = data[:, :usable].reshape(data.shape[0], -1, thin).mean(axis=2)
    found: set[int] = set()
    _split(thinned, 0, thinned.shape[1], max(2, grid.bins(SHORTEST_LEVEL) // thin), found)
    return {cut * thin for cut in found}


def _split(data: Values, first: int, end: int, least: int, found: set[int]) -> None:
    """Binary segmentation on the mean: cut where the two sides differ by more than one step, then again within."""
    count = end - first
    if count < 2 * least:
        return
    part = data[:, first:end]
    left = np.cumsum(part, axis=1)[:, least - 1 : count - least]
    sizes = np.arange(least, count - least + 1)
    total = part.sum(axis=1, keepdims=True)
    gap = left / sizes - (total - left) / (count - sizes)
    gain = (gap**2 * (sizes * (count - sizes) / count)).sum(axis=0)
    best = int(np.argmax(gain))
    if float(np.max(np.abs(gap[:, best]))) <= 1.0:
        return
    cut = first + least + best
    found.add(cut)
    _split(data, first, cut, least, found)
    _split(data, cut, end, least, found)
