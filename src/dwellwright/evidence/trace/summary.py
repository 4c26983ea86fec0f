"""What a recording amounts to: each regime's loop and sensor, the story around them, and warnings in plain words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.grid import Grid, grid_of
from dwellwright.evidence.trace.levels import learned_levels
from dwellwright.evidence.trace.loop_features import RegimeSummary, regime_summary
from dwellwright.evidence.trace.loop_state import LoopState, loop_state
from dwellwright.evidence.trace.regimes import Segment, segments_of
from dwellwright.evidence.trace.story import Story, story_of
from dwellwright.evidence.trace.trace import Trace
from dwellwright.evidence.trace.warnings import warning_sentences

LONG_ENOUGH = 20.0
"""A steady stretch that long can speak for its regime. [s] (assumed)"""
IN_GEAR = 1.12
"""An idle at more than so many times the lowest idle pressure works against something. (assumed)"""
_STEADY = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


@dataclass(frozen=True)
class TraceSummary:
    """A recording, summed up.

    Args:
        regimes: one summary for each regime met, of the stretch that speaks best for it.
        segments: every stretch in order of time.
        others: summaries of the other steady stretches of at least `LONG_ENOUGH`, in order of time.
        features: what happened around the regimes.
        warnings: plain sentences, the most important first.
        source: file name.
        started: clock time of time zero, where known.
    """

    regimes: dict[Regime, RegimeSummary]
    segments: tuple[Segment, ...]
    others: tuple[RegimeSummary, ...]
    features: Story
    warnings: tuple[str, ...]
    source: str
    started: datetime | None


def summarize(trace: Trace) -> TraceSummary:
    """The regimes of a recording, what the loop does in each, and what to be wary of."""
    grid = grid_of(trace)
    levels = learned_levels(grid)
    time = trace.time
    state = loop_state(grid)
    segments = segments_of(grid, time, levels, state)
    regimes: dict[Regime, RegimeSummary] = {}
    others: list[RegimeSummary] = []
    for regime in Regime:
        found = [s for s in segments if s.regime is regime and s.rows[1] - s.rows[0] >= 3]
        if not found:
            continue
        speaking = speaking_segment(found, grid)
        regimes[regime] = _summary(trace, grid, state, speaking)
        rest = [s for s in found if s is not speaking and s.duration >= LONG_ENOUGH and regime in _STEADY]
        others += [_summary(trace, grid, state, s) for s in rest[-6:]]
    features = story_of(trace, grid, levels, segments, state)
    others.sort(key=lambda s: s.begin)
    warnings = warning_sentences(trace, levels, regimes, tuple(others), features)
    return TraceSummary(regimes, segments, tuple(others), features, warnings, trace.source, trace.started)


def _summary(trace: Trace, grid: Grid, state: LoopState | None, segment: Segment) -> RegimeSummary:
    values = {channel: trace.values(channel) for channel in Channel if trace.has(channel)}
    return regime_summary(grid, state, values, segment, energized_is_lean=trace.polarity.energized_is_lean)


def speaking_segment(found: list[Segment], grid: Grid) -> Segment:
    """The stretch that speaks for its regime.

    For the idle the last long one near the hottest: it comes after the engine was cleared and the sensor heated
    by a fast run or a drive. For a steady drive or a fast run the longest. For the rest the longest too.
    """
    if found[0].regime is not Regime.IDLE:
        return max(found, key=lambda s: s.duration)
    coolant = grid.means.get(Channel.COOLANT_TEMPERATURE)
    rest = _at_rest(found, grid)
    long = [s for s in rest if s.duration >= 1.5 * LONG_ENOUGH] or [
        s for s in rest if s.duration >= LONG_ENOUGH
    ]
    if not long:
        return max(rest, key=lambda s: s.duration)
    if coolant is None:
        return long[-1]
    heats = [float(np.median(coolant[s.bins[0] : s.bins[1]])) for s in long]
    return [s for s, heat in zip(long, heats, strict=True) if heat > max(heats) - 3.0][-1]


def _at_rest(found: list[Segment], grid: Grid) -> list[Segment]:
    """Of several idles those with the deepest vacuum: the others are in gear, or under an accessory's load."""
    pressure = grid.means.get(Channel.MANIFOLD_PRESSURE)
    long = [s for s in found if s.duration >= LONG_ENOUGH] or found
    if pressure is None:
        return long
    levels = [float(np.median(pressure[s.bins[0] : s.bins[1]])) for s in long]
    return [s for s, level in zip(long, levels, strict=True) if level < IN_GEAR * min(levels)]
