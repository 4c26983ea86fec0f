"""Which fall of the wire is the driver switching on: not the end of the spike, not a tick, not noise.

Written for the upright wire; the other polarity is turned over before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.evidence.waveform_types import Floats

Flags = NDArray[np.bool_]
Indices = NDArray[np.int64]

RANK = 2
"""The third-largest step of each second sets the usual height: 5 Hz gives at least four, ticks pass below."""
THRESHOLDS = 0.6 * 0.75 ** np.arange(8)
"""Shares of the tallest usual fall at which energizing edges are sought."""
ALIKE, ORDERLY = 1.6, 0.7
"""Heights within this ratio are alike; this share of gaps alike is orderly (assumed)."""
DEPTH_SHARE, FAINT_SHARE = 0.6, 0.3
"""A fall of this share of the usual depth counts at first sight; of the second, if its moment is right (assumed)."""
NEIGHBORS = 9
"""Pulses over which the expected moment is taken."""
DEPTH_SPREAD, LEAST_SPREAD = 0.5, 2e-3
"""Spread of the logarithm of the depth, and least spread of the moment [s], by which falls are weighed (assumed)."""
EARLY_COST = 3.0
"""Added for a fall that another proper one follows in the same gap (assumed)."""
TAIL_SHARE = 0.15
"""After the last release a fall is the spike's end or a tick if it misses its moment by this share of a beat."""
TIMELY = 5.0
"""A faint fall counts within this many spreads of the expected moment."""


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


def _last_before(fall: Floats, release: Floats) -> tuple[Flags, Indices]:
    """Whether a release has a fall since the release before it, and the index of the last one."""
    index = np.searchsorted(fall, release) - 1
    if not len(fall) or not len(release):
        return np.zeros(len(release), bool), index
    before = np.concatenate([[-np.inf], release[:-1]])
    return (index >= 0) & (fall[np.maximum(index, 0)] > before), index


def energizing_height(fall: Floats, depth: Floats, release: Floats) -> float:
    """Usual height of the last proper fall before each release. [sample unit]

    The end of a spike may be as sharp as the driver's own edge and taller, but it comes first in its gap. The
    threshold sinks until what comes last is no longer alike from gap to gap; the lowest orderly one is taken.
    """
    tallest = usual_height(fall, depth)
    best, best_share = tallest, 0.0
    for threshold in tallest * THRESHOLDS:
        deep = depth >= threshold
        has, index = _last_before(fall[deep], release)
        if has.sum() < max(3, 0.5 * len(release)):
            continue
        lasts = np.sort(depth[deep][index[has]])
        within = np.searchsorted(lasts, lasts * ALIKE, side="right") - np.arange(len(lasts))
        first = int(np.argmax(within))
        share = float(within[first]) / len(release)
        if share >= min(ORDERLY, best_share):
            best, best_share = float(np.median(lasts[first : first + within[first]])), max(share, best_share)
    return best


@dataclass(frozen=True)
class _Habit:
    """Where the energizing edge of a pulse is expected: so long before its release, or so late in the beat."""

    width: Floats
    phase: Floats
    period: float
    by_phase: bool
    spread: float

    def lateness(self, fall: Floats, pulse: Indices, release: Floats) -> Floats:
        """Time from the expected to the given moment for falls of the given pulses. [s]"""
        if not self.by_phase:
            return fall - (release[pulse] - self.width[pulse])
        late = fall - self.phase[pulse]
        return np.asarray(late - self.period * np.rint(late / self.period), dtype=np.float64)


def _running_median(values: Floats) -> Floats:
    """Median of each value and its neighbors, the ends repeated."""
    padded = np.pad(values, NEIGHBORS // 2, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, NEIGHBORS)
    return np.asarray(np.median(windows, axis=1), dtype=np.float64)


def _habit(on: Floats, has: Flags, release: Floats) -> _Habit:
    """Learned from the falls chosen at first sight."""
    order = np.arange(len(release))
    widths = release[has] - on
    smooth = _running_median(widths)
    step = np.diff(on)
    period = float(np.median(step))
    regular = step[np.abs(step - period) < 0.3 * period]
    period = float(regular.mean()) if len(regular) else period
    late = on - period * np.concatenate([[0.0], np.cumsum(np.rint(step / period))])
    phase = _running_median(late)
    spreads = [
        1.4826 * float(np.median(np.abs(widths - smooth))),
        1.4826 * float(np.median(np.abs(late - phase))),
    ]
    by_phase = spreads[1] < spreads[0]
    return _Habit(
        np.interp(order, order[has], smooth),
        np.interp(order, order[has], phase),
        period,
        by_phase,
        max(LEAST_SPREAD, spreads[by_phase]),
    )


def energizing(fall: Floats, depth: Floats, release: Floats, duration: float) -> tuple[Floats, Flags, float]:
    """The energizing edge of each release, which releases have one, and the energized time after the last.

    Args:
        fall: moments of falls, shape (n,). [s]
        depth: their depths over the usual one, shape (n,). [-]
        release: moments of release, shape (m,). [s]
        duration: of the recording. [s]
    """
    proper = fall[depth >= DEPTH_SHARE]
    has, index = _last_before(proper, release)
    on = proper[index[has]]
    if has.sum() < NEIGHBORS:
        late = proper[proper > release[-1]] if len(release) else proper
        return on, has, duration - float(late[-1]) if len(late) else 0.0
    habit = _habit(on, has, release)
    chosen = _likeliest(fall, depth, release, habit)
    has = chosen >= 0
    on = fall[chosen[has]]
    expected = float(on[-1]) + habit.period if habit.by_phase and len(on) else None
    return on, has, _dangling(fall, depth, release, habit, expected, duration)


def _cost(late: Floats, depth: Floats, follow: Flags) -> Floats:
    """How unlikely a fall is as the driver's edge: its moment in spreads, its depth, and what follows it."""
    return np.asarray(
        2 * np.log1p(late**2) + (np.log(depth) / DEPTH_SPREAD) ** 2 + EARLY_COST * follow, dtype=np.float64
    )


def _likeliest(fall: Floats, depth: Floats, release: Floats, habit: _Habit) -> Indices:
    """Index of the likeliest fall of each release, -1 where there is none."""
    pulse = np.searchsorted(release, fall, side="left")
    inside = np.flatnonzero(pulse < len(release))
    late = habit.lateness(fall[inside], pulse[inside], release) / habit.spread
    counts = (depth[inside] >= DEPTH_SHARE) | (np.abs(late) < TIMELY)
    inside, late = inside[counts], late[counts]
    pulse = pulse[inside]
    last_proper = np.full(len(release), -np.inf)
    proper = depth[inside] >= DEPTH_SHARE
    np.maximum.at(last_proper, pulse[proper], fall[inside][proper])
    cost = _cost(late, depth[inside], fall[inside] < last_proper[pulse])
    order = np.lexsort((cost, pulse))
    first = np.concatenate([[True], np.diff(pulse[order]) > 0]) if len(order) else np.zeros(0, bool)
    best = order[first]
    chosen = np.full(len(release), -1, np.int64)
    chosen[pulse[best]] = inside[best]
    return chosen


def _dangling(
    fall: Floats, depth: Floats, release: Floats, habit: _Habit, expected: float | None, duration: float
) -> float:
    """Time from a last energizing, if there is one, to the end of the recording. [s]"""
    tail = np.flatnonzero((fall > release[-1]) & (depth >= DEPTH_SHARE))
    if not len(tail):
        return 0.0
    if expected is None:
        expected = float(release[-1]) + habit.period - float(habit.width[-3:].mean())
    late = fall[tail] - expected
    cost = _cost(late / habit.spread, depth[tail], np.arange(len(tail)) < len(tail) - 1)
    best = int(np.argmin(cost))
    if abs(late[best]) > TAIL_SHARE * habit.period:
        return 0.0
    return float(duration - fall[tail[best]])
