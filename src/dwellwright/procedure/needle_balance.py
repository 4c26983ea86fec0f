"""Two needles against each other: a small search for the smoothest idle that leaves the mean alone."""

from __future__ import annotations

from collections.abc import Sequence

from dwellwright.procedure.hand import FINEST
from dwellwright.procedure.needle_task import Entry

ROUGH = 1.5
"""Roughness, 0 to 3, from which balancing is worth a try. Assumed."""

STEP, FURTHEST = FINEST // 8, FINEST // 2
"""Sixteenths: one trial of an eighth each, at most half a turn apart either way. Assumed."""


def balancing_move(entries: Sequence[Entry]) -> int | None:
    """Sixteenths to turn the first needle out and the second in; None when nothing better is to be tried.

    Climbs on the roughness noted at each offset tried so far; an offset tried twice counts by its last note.
    """
    felt: dict[int, float] = {}
    offset = 0
    for entry in entries:
        if len(entry.out) == 2:
            offset += round((entry.out[0] - entry.out[1]) / 2 * FINEST)
        if entry.roughness is not None:
            felt[offset] = entry.roughness
    if not felt:
        return None
    best = min(felt, key=lambda one: (felt[one], abs(one)))
    if felt[best] >= ROUGH:
        for trial in (best + STEP, best - STEP):
            if trial not in felt and abs(trial) <= FURTHEST:
                return trial - offset
    return (best - offset) or None
