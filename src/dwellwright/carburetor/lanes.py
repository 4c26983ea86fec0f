"""Many barrels side by side: Newton's steps of `network` for LANES of them at once.

Each lane stops moving once it is found, so that its answer does not depend on the barrels beside it, and a barrel
alone is a full set of lanes that all hold it. Lanes that do not close in go to the bracket, one by one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.network import Held, newton_step
from dwellwright.carburetor.solution import CLOSE_ENOUGH, NEWTON_STEPS, bracketed_or_none, start_of
from dwellwright.compiled import register_jitable

CARS = 8
"""Cars of a block."""
LANES = 16
"""Barrels side by side: the cars of a block at the rich end, then the same cars at the lean end."""
HELD_FIELDS = len(Held._fields)

Lanes1 = NDArray[np.float64]
Lanes2 = NDArray[np.float64]


@register_jitable(forceinline=True)
def put(lanes: Lanes2, lane: int, held: Held) -> None:
    """Put a barrel into a lane; rows are the fields of `Held` in order."""
    for row, value in enumerate(held):
        lanes[row, lane] = value


@register_jitable(forceinline=True)
def barrel_in(h: Lanes2, k: int) -> Held:
    """The barrel in a lane."""
    return Held(
        h[0, k], h[1, k], h[2, k], h[3, k], h[4, k], h[5, k], h[6, k], h[7, k], h[8, k],
        h[9, k], h[10, k], h[11, k], h[12, k], h[13, k], h[14, k], h[15, k], h[16, k], h[17, k],
        h[18, k],
    )  # fmt: skip


@register_jitable(forceinline=True)
def newton_lanes(lanes: Lanes2, total: Lanes1, idle: Lanes1, change: Lanes1) -> None:
    """Newton's steps in every lane, until all are found or the steps are used up.

    Args:
        lanes: barrels, shape (HELD_FIELDS, LANES).
        total: fuel through the jet, where to start and the answer, shape (LANES,). [kg/s]
        idle: the same for the idle tube. [kg/s]
        change: last relative change, left above `CLOSE_ENOUGH` or not-a-number where a lane is not found. [-]
    """
    for k in range(LANES):
        change[k] = 1.0
    for _ in range(NEWTON_STEPS):
        worst = 0.0
        for k in range(LANES):
            new_total, new_idle, lack = newton_step(barrel_in(lanes, k), total[k], idle[k])
            moved = (abs(new_total - total[k]) + abs(new_idle - idle[k])) / new_total + 0.0 * lack
            found = change[k] < CLOSE_ENOUGH
            change[k] = change[k] if found else moved
            total[k] = total[k] if found else new_total
            idle[k] = idle[k] if found else new_idle
        for k in range(LANES):
            worst = max(worst, change[k])
        if worst < CLOSE_ENOUGH:
            break


@register_jitable
def solved_lanes(lanes: Lanes2, total: Lanes1, idle: Lanes1, change: Lanes1) -> None:
    """The solution of every lane: Newton's steps, then the bracket; not-a-number where neither closes.

    Arguments as in `newton_lanes`; a start that is not above zero is replaced by the guess of `solution`.
    """
    for k in range(LANES):
        if not total[k] > 0.0:
            total[k], idle[k] = start_of(barrel_in(lanes, k))
    newton_lanes(lanes, total, idle, change)
    for k in range(LANES):
        if not change[k] < CLOSE_ENOUGH:
            total[k], idle[k] = bracketed_or_none(barrel_in(lanes, k))
