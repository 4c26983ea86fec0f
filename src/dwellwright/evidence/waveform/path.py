"""Which fall of each gap is the driver's energizing edge: the falls that together make the likeliest train.

The end of a release spike and an ignition tick fall as sharply as the driver does. Looked at one by one they cannot
be told apart; looked at together they can, since the driver either keeps an even beat or changes the width of its
pulses gradually. The cheapest path through all gaps is found by dynamic programming.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.evidence.waveform.kernels import cheapest_path
from dwellwright.evidence.waveform.types import Floats

Flags = NDArray[np.bool_]
Indices = NDArray[np.int64]

FAINT = 0.5
"""A fall of the asked depth is a proper one; one of this share of it may serve where nothing better is (assumed)."""
DEPTH_SPREAD, BEAT_SPREAD, WIDTH_SHARE = 0.5, 2e-3, 0.06
"""Spread of the logarithm of the depth; of an even beat [s]; of the change of width from pulse to pulse, in periods,
where the release keeps the beat (assumed)."""
EARLY_COST, MISSING_COST, CUT_COST = 6.0, 9.0, 2.0
"""Added for a fall that another proper one follows in the same gap; for a gap without any; and for a first release
without any, where the recording may have begun within the pulse (assumed)."""
EXTRA_COST, SHORT = 3.0, 0.75
"""Most that a change costs beside a gap shorter than this, which holds a pulse too many [periods] (assumed)."""
RELEASE_EVEN = 5e-4
"""Releases that come so evenly keep the beat themselves. [s]"""
FEWEST = 9
"""Releases below which there is no habit to go by: the last proper fall of each gap is taken."""
EVEN = 0.2
"""A gap between releases, or between placed edges, is one beat if it is so near to it. [periods]"""
TAIL_SHARE = 0.15
"""After the last release a fall is the spike's end or a tick if it misses its moment by this share of a beat."""


@dataclass(frozen=True)
class Energizing:
    """The energizing edges of a recording.

    Args:
        on: one moment for each release that has one, in time order, shape (k,). [s]
        has: which releases have one, shape (m,), k of them true.
        cost: how unlikely the train is, per release; infinite where there is no habit to judge by.
        placed: how many of them were not seen, but placed where the beat or their neighbors say.
        spread: standard uncertainty of a placed edge. [s]
        dangling: energized time after the last release. [s]
    """

    on: Floats
    has: Flags
    cost: float
    placed: int = 0
    spread: float = 0.0
    dangling: float = 0.0


@dataclass(frozen=True)
class _Choice:
    """One reading of the gaps: index of the fall of each release (-1: none), its cost, and the habit it assumed."""

    fall: Indices
    cost: float
    by_beat: bool
    spread: float


def last_before(fall: Floats, release: Floats) -> tuple[Flags, Indices]:
    """Whether a release has a fall since the release before it, and the index of the last one."""
    index = np.searchsorted(fall, release) - 1
    if not len(fall) or not len(release):
        return np.zeros(len(release), bool), index
    before = np.concatenate([[-np.inf], release[:-1]])
    return (index >= 0) & (fall[np.maximum(index, 0)] > before), index


def energizing(fall: Floats, depth: Floats, release: Floats, duration: float) -> Energizing:
    """The energizing edge of each release.

    Args:
        fall: moments of falls, shape (n,). [s]
        depth: their depths over the one that makes a fall a proper one, shape (n,). [-]
        release: moments of release, shape (m,). [s]
        duration: of the recording. [s]
    """
    fall, depth = fall[depth >= FAINT], depth[depth >= FAINT]
    proper = fall[depth >= 1]
    has, index = last_before(proper, release)
    on = proper[index[has]]
    if has.sum() < FEWEST:
        late = proper[proper > release[-1]] if len(release) else proper
        cost = MISSING_COST * (1 - float(has.mean())) if len(has) else np.inf
        return Energizing(on, has, cost, dangling=duration - float(late[-1]) if len(late) else 0.0)
    period = _period(on, release)
    habits = (False,) if _even(release, period) else (True, False)
    choices = [_choice(fall, depth, release, period, by_beat) for by_beat in habits]
    chosen = min(choices, key=lambda choice: choice.cost)
    moments = np.where(chosen.fall >= 0, fall[chosen.fall], np.nan)
    filled = _placed(moments, release, period, chosen.by_beat)
    has = np.isfinite(filled)
    dangling = _dangling(fall, depth, release, filled, chosen, period, duration)
    cost = chosen.cost / len(release) - float(np.log(chosen.spread))
    placed = int((has & (chosen.fall < 0)).sum())
    return Energizing(filled[has], has, cost, placed, chosen.spread, dangling)


def _period(on: Floats, release: Floats) -> float:
    """Usual time from pulse to pulse, by the steadier of the two edges. [s]"""
    best, least = 0.0, np.inf
    for edge in (on, release):
        step = np.diff(edge)
        middle = float(np.median(step))
        regular = step[np.abs(step - middle) < 0.3 * middle]
        spread = float(np.median(np.abs(step - middle)))
        if spread < least and len(regular):
            best, least = float(regular.mean()), spread
    return best if best > 0 else float(np.median(np.diff(release)))


def _even(release: Floats, period: float) -> bool:
    """Whether nearly all releases keep the beat."""
    step = np.diff(release)
    off = np.abs(step - period * np.maximum(1, np.rint(step / period)))
    return bool(np.percentile(off, 80) < RELEASE_EVEN)


def _choice(fall: Floats, depth: Floats, release: Floats, period: float, by_beat: bool) -> _Choice:
    """The cheapest train if energizing keeps the beat, or if the width changes gradually."""
    pulse = np.searchsorted(release, fall, side="left")
    inside = np.flatnonzero(pulse < len(release))
    pulse, time = pulse[inside], fall[inside]
    proper = depth[inside] >= 1
    last = np.full(len(release), -np.inf)
    np.maximum.at(last, pulse[proper], time[proper])
    cost = (np.log(np.minimum(depth[inside], 1)) / DEPTH_SPREAD) ** 2 + EARLY_COST * (time < last[pulse])
    first = np.searchsorted(pulse, np.arange(len(release) + 1))
    spread = BEAT_SPREAD if by_beat else max(BEAT_SPREAD, WIDTH_SHARE * period)
    kept = np.empty(len(release), np.int64)
    habit = (period, float(by_beat), spread, MISSING_COST, CUT_COST, EXTRA_COST, SHORT)
    total = cheapest_path(time, cost, first, release, habit, kept)
    return _Choice(np.where(kept >= 0, inside[kept], -1), total, by_beat, spread)


def _placed(on: Floats, release: Floats, period: float, by_beat: bool) -> Floats:
    """The edges, those not seen put where they belong if exactly one fits there, else left out (NaN)."""
    seen = np.flatnonzero(np.isfinite(on))
    filled = on.copy()
    if not len(seen):
        return filled
    order = np.arange(len(release))
    width = np.interp(order, order[seen], release[seen] - on[seen])
    for place in np.flatnonzero(~np.isfinite(on)):
        if place == 0 or abs(release[place] - release[place - 1] - period) > 2 * EVEN * period:
            continue
        moment = release[place] - width[place]
        if by_beat:
            nearest = on[seen[np.argmin(np.abs(seen - place))]]
            moment = nearest + period * np.rint((moment - nearest) / period)
        if release[place - 1] < moment < release[place]:
            filled[place] = moment
    return filled


def _dangling(
    fall: Floats, depth: Floats, release: Floats, on: Floats, chosen: _Choice, period: float, duration: float
) -> float:
    """Time from a last energizing, if there is one, to the end of the recording. [s]"""
    tail = np.flatnonzero((fall > release[-1]) & (depth >= 1))
    seen = np.flatnonzero(np.isfinite(on))
    if not len(tail) or not len(seen):
        return 0.0
    if chosen.by_beat:
        last = float(on[seen[-1]])
        expected = last + period * max(1.0, float(np.rint((float(release[-1]) - last) / period)))
    else:
        expected = float(release[-1]) + period - float((release[seen] - on[seen])[-1])
    late = fall[tail] - expected
    cost = 2 * np.log1p((late / chosen.spread) ** 2)
    cost[:-1] += EARLY_COST
    best = int(np.argmin(cost))
    return 0.0 if abs(late[best]) > TAIL_SHARE * period else float(duration - fall[tail[best]])
