"""A throttle sensor that stands still while the engine shows that the throttle moved."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.trace import Trace, Values

LONG, MOST_ROWS = 20.0, 200_000
"""A stand still worth a look [s]; rows looked at, thinned evenly. (assumed)"""
FASTER, CLEARLY = 1.8, 1.15
"""Speed over the run's lowest and pressure over that speed's that no shut throttle gives. (assumed)"""
RUNNING = 400.0 / 60.0
"""[1/s]"""


def still_sentences(trace: Trace) -> list[str]:
    """Whether the throttle sensor is stuck: with one throttle angle a faster engine has less manifold pressure.

    A shut throttle stands still rightly for minutes, so the engine must contradict it: turning much faster than at its
    slowest of the same stand still, and at a higher pressure.
    """
    needed = (Channel.THROTTLE_VOLTAGE, Channel.ENGINE_SPEED, Channel.MANIFOLD_PRESSURE)
    if not all(trace.has(channel) for channel in needed):
        return []
    thin = slice(None, None, max(1, trace.time.size // MOST_ROWS))
    time = trace.time[thin]
    volts, speed, pressure = (trace.values(channel)[thin] for channel in needed)
    for first, end in _runs(time, volts):
        if _contradicted(speed[first:end], pressure[first:end]):
            name = trace.columns.by_channel[Channel.THROTTLE_VOLTAGE].column
            return [f"Column '{name}' stands still from {time[first]:.0f} to {time[end - 1]:.0f} s while speed and "
                    "manifold pressure rise together as with an opened throttle: stuck?"]  # fmt: skip
    return []


def _runs(time: Values, values: Values) -> list[tuple[int, int]]:
    """First row and row after the last of every long run of one reading."""
    edges = np.flatnonzero(np.diff(values) != 0) + 1
    bounds = np.concatenate(([0], edges, [values.size]))
    return [(int(a), int(b)) for a, b in pairwise(bounds)
            if b - a > 2 and time[b - 1] - time[a] > LONG]  # fmt: skip


def _contradicted(speed: Values, pressure: Values) -> bool:
    known = np.isfinite(speed) & np.isfinite(pressure) & (speed > RUNNING)
    speed, pressure = speed[known], pressure[known]
    if speed.size < 30:
        return False
    slow = speed < 1.2 * float(np.percentile(speed, 5))
    fast = speed > FASTER * float(np.percentile(speed, 5))
    if np.count_nonzero(fast) < max(10, 0.05 * speed.size):
        return False
    return float(np.median(pressure[fast])) > CLEARLY * float(np.median(pressure[slow]))
