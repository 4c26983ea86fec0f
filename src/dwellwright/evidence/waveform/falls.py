"""Which fall of the wire is the driver switching on: not the end of the spike, not a tick, not noise.

Written for the upright wire; the other polarity is turned over before.
"""

from __future__ import annotations

import numpy as np

from dwellwright.evidence.waveform.path import Energizing, energizing
from dwellwright.evidence.waveform.types import Floats

RANK = 2
"""The third-largest step of each second sets the usual height: 5 Hz gives at least four, ticks pass below."""
THRESHOLDS = 0.6 * 0.75 ** np.arange(7, -1, -1)
"""Shares of the tallest usual fall at which energizing edges are sought, from the lowest up."""
GOOD_COST = 4.0
"""A train whose releases cost no more than this on average is taken (assumed)."""


def usual_height(time: Floats, height: Floats) -> float:
    """Typical height of the strongest steps of one sign, blind to stray ones. [sample unit]"""
    if len(time) < 3:
        return 0.0
    second = time.astype(np.int64)
    order = np.lexsort((-height, second))
    first = np.flatnonzero(np.concatenate([[True], np.diff(second[order]) > 0]))
    size = np.diff(np.concatenate([first, [len(order)]]))
    ranked = height[order][(first + RANK)[size > RANK]]
    return float(np.median(ranked)) if len(ranked) else float(np.sort(height)[-3])


def driver_falls(time: Floats, depth: Floats, release: Floats, duration: float) -> tuple[Energizing, float]:
    """The energizing edges among all falls, and their usual height. [sample unit]

    The end of a spike may be sharper and taller than the driver's own edge, but the driver comes last in its gap.
    The threshold therefore rises from low down until the falls make a good train; failing that, the best is taken.

    Args:
        time: moments of the falls, shape (n,). [s]
        depth: their heights, positive, shape (n,). [sample unit]
        release: moments of release, shape (m,). [s]
        duration: of the recording. [s]
    """
    tallest = max(usual_height(time, depth), 1e-30)
    best, best_level = Energizing(np.zeros(0), np.zeros(len(release), bool), np.inf), tallest
    for level in tallest * THRESHOLDS:
        found = energizing(time, depth / level, release, duration)
        if found.cost < best.cost:
            best, best_level = found, level
        if found.cost <= GOOD_COST:
            break
    taken = depth[np.isin(time, best.on)]
    return best, float(np.median(taken)) if len(taken) else best_level
