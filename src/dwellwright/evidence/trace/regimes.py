"""Cut a recording into regimes: cranking, warm-up, idle, fast no-load, cruise, pull, overrun."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace.changes import level_changes
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.grid import Grid
from dwellwright.evidence.trace.levels import CLOSED_SHARE, Levels
from dwellwright.evidence.trace.loop_state import LoopState
from dwellwright.evidence.trace.rolling import (
    Flags,
    bridged,
    hysteresis,
    latched,
    rolling_range,
    runs,
    without_short,
)
from dwellwright.evidence.trace.trace import Values

FAST_BAND = (1900 / 60, 3600 / 60)
"""A fast no-load run is held in this band. [rev/s] (common practice: 2000 to 3500, widened for ripple)"""
WARM_BAND = 5.0
"""An idle this far below the warmest is still warming up. [K] (assumed)"""
NO_LOAD = 0.18
"""Load share below which a fast engine drives nothing, when no road speed says so. (assumed)"""
FREE_FALL = 6.0
"""An engine without load falls to idle within so long of the end of a held speed. [s] (assumed)"""
SHORTEST = {
    Regime.KEY_ON: 0.0, Regime.CRANKING: 0.0, Regime.PULL: 1.5, Regime.OVERRUN: 1.5, Regime.CRUISE: 8.0,
    Regime.FAST_NO_LOAD: 8.0, Regime.IDLE: 4.0, Regime.OPEN_LOOP: 4.0, Regime.WARM_UP: 4.0,
}  # fmt: skip
"""Shorter stretches are transients. [s] (assumed)"""
ORDER = (
    Regime.WARM_UP, Regime.OPEN_LOOP, Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE, Regime.OVERRUN, Regime.PULL,
    Regime.CRANKING, Regime.KEY_ON,
)  # fmt: skip
"""Later ones win where two fit."""
_STEADY = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


@dataclass(frozen=True)
class Segment:
    """One stretch of a recording in one regime; rows and bins are half-open.

    Args:
        regime: which.
        begin, end: time of its first and last row. [s]
        rows: first row and the row after the last.
        bins: the same in bins of the grid.
    """

    regime: Regime
    begin: float
    end: float
    rows: tuple[int, int]
    bins: tuple[int, int]

    @property
    def duration(self) -> float:
        """Length. [s]"""
        return self.end - self.begin


def segments_of(grid: Grid, time: Values, levels: Levels, state: LoopState | None) -> tuple[Segment, ...]:
    """The regimes of a recording in order of time; transients between them are left out.

    Args:
        grid: the recording in bins.
        time: of each row. [s], shape (rows,)
        levels: as learned from the same grid.
        state: of the loop, from the same grid.
    """
    labels = _labels(grid, _fits(grid, levels, state))
    found: list[Segment] = []
    for label, first, end in runs(labels):
        if label < 0:
            continue
        regime = ORDER[label]
        for a, b in _pieces(grid, regime, first, end):
            if (b - a) * grid.width >= SHORTEST[regime]:
                found.append(_segment(grid, time, regime, a, b))
    return tuple(found)


def _segment(grid: Grid, time: Values, regime: Regime, first: int, end: int) -> Segment:
    rows = int(grid.starts[first]), int(grid.starts[end])
    last = max(rows[0], min(rows[1], time.size) - 1)
    return Segment(regime, float(time[rows[0]]), float(time[last]), rows, (first, end))


def _pieces(grid: Grid, regime: Regime, first: int, end: int) -> list[tuple[int, int]]:
    """A run cut where the recording was interrupted and, for steady regimes, where the level changes."""
    cuts = {
        first,
        end,
        *(int(i) + 1 for i in np.flatnonzero(grid.gap[first:end]) + first if first < i + 1 < end),
    }
    if regime in _STEADY:
        cuts |= {first + c for c in level_changes(grid, first, end)}
    edges = sorted(cuts)
    return list(pairwise(edges))


def _labels(grid: Grid, fits: dict[Regime, Flags]) -> NDArray[np.int8]:
    labels = np.full(grid.size, -1, np.int8)
    for number, regime in enumerate(ORDER):
        flags = fits.get(regime)
        if flags is None:
            continue
        least = grid.bins(SHORTEST[regime])
        if regime in (Regime.KEY_ON, Regime.CRANKING):
            labels[flags] = number
            continue
        labels[without_short(bridged(flags, grid.bins(1.5)), least)] = number
    return labels


def _fits(grid: Grid, levels: Levels, state: LoopState | None) -> dict[Regime, Flags]:
    fits: dict[Regime, Flags] = {}
    speed = grid.means.get(Channel.ENGINE_SPEED)
    fits.update(_before_start(levels, speed))
    idle_like, fast = _standing(grid, levels, speed)
    moving = levels.moving if levels.moving is not None else _loaded(grid, levels, idle_like | fast)
    pull, overrun = _transients(grid, levels, speed, moving)
    fits[Regime.PULL], fits[Regime.OVERRUN] = pull, overrun
    fits[Regime.FAST_NO_LOAD] = fast & ~pull & ~overrun
    fits[Regime.CRUISE] = _cruise(grid, levels, speed, moving) & ~pull & ~overrun & ~fast
    standing = levels.running & ~moving
    cold = _cold(grid, levels)
    fits[Regime.WARM_UP] = standing & cold & ~fast
    fits[Regime.IDLE] = idle_like & ~cold
    if state is not None and state.active.any():
        before = np.arange(grid.size) < int(np.argmax(state.active))
        fits[Regime.OPEN_LOOP] = fits[Regime.IDLE] & before
        fits[Regime.IDLE] = fits[Regime.IDLE] & ~before
    return fits


def _loaded(grid: Grid, levels: Levels, standing: Flags) -> Flags:
    """Moving, where no road speed says so: from the first load on until the engine idles or races freely again."""
    pressure = grid.means.get(Channel.MANIFOLD_PRESSURE)
    able = levels.running & ~standing
    if pressure is not None and np.isfinite(levels.idle_pressure):
        loaded = levels.load(pressure) > np.where(_cold(grid, levels), 1.5 * NO_LOAD, NO_LOAD)
    elif levels.throttle is not None:
        loaded = (levels.throttle > CLOSED_SHARE) & ~_cold(grid, levels)
    else:
        loaded = ~_cold(grid, levels)
    return latched(able & loaded, standing | ~levels.running | (_cold(grid, levels) & ~loaded))


def _before_start(levels: Levels, speed: Values | None) -> dict[Regime, Flags]:
    still = ~levels.running
    if speed is None:
        return {Regime.KEY_ON: still}
    return {Regime.KEY_ON: still & (speed <= 0.5), Regime.CRANKING: still & (speed > 0.5)}


def _cold(grid: Grid, levels: Levels) -> Flags:
    coolant = grid.means.get(Channel.COOLANT_TEMPERATURE)
    if coolant is None or not np.isfinite(levels.warm):
        return np.zeros(grid.size, np.bool_)
    below = hysteresis(levels.warm - WARM_BAND - coolant, 0.0, -1.0)
    warmed = np.maximum.accumulate(~below)
    return below & ~warmed


def _standing(grid: Grid, levels: Levels, speed: Values | None) -> tuple[Flags, Flags]:
    """Idle and fast no-load, before the warm-up is told apart."""
    idle, fast = levels.running.copy(), levels.running.copy()
    if levels.moving is not None:
        idle &= ~levels.moving
        fast &= ~levels.moving
    if speed is not None and np.isfinite(levels.idle_speed):
        idle &= ~hysteresis(speed, 1.3 * levels.idle_speed + 2.0, 1.2 * levels.idle_speed + 1.5)
    if levels.throttle is not None:
        closed = ~hysteresis(levels.throttle, CLOSED_SHARE + 0.04, CLOSED_SHARE)
        idle &= closed
        fast &= ~closed
    fast &= _fast_speed(grid, levels, speed)
    pressure = grid.means.get(Channel.MANIFOLD_PRESSURE)
    if pressure is not None and np.isfinite(levels.idle_pressure):
        load = levels.load(pressure)
        idle &= load < 0.3
        if levels.moving is None:
            fast &= load < NO_LOAD
    return idle, fast & ~idle


def _fast_speed(grid: Grid, levels: Levels, speed: Values | None) -> Flags:
    window = grid.bins(5.0)
    if speed is not None:
        held = rolling_range(speed, window) < 0.08 * speed
        flags = held & (speed > FAST_BAND[0]) & (speed < FAST_BAND[1])
        if levels.moving is None and Channel.MANIFOLD_PRESSURE not in grid.means:
            return _falling_freely(grid, levels, speed, flags)
        return flags
    if levels.throttle is not None and (levels.moving is not None or Channel.MANIFOLD_PRESSURE in grid.means):
        held = rolling_range(levels.throttle, window) < 0.1
        return np.asarray(held & (levels.throttle > 0.2) & ~_cold(grid, levels), np.bool_)
    return np.zeros(grid.size, np.bool_)


def _falling_freely(grid: Grid, levels: Levels, speed: Values, flags: Flags) -> Flags:
    """Of the fast runs, those the engine leaves for idle at once, as it cannot with a car to slow down."""
    out = np.zeros_like(flags)
    if not np.isfinite(levels.idle_speed):
        return flags
    for value, first, end in runs(flags.astype(np.int8)):
        after = speed[end : end + grid.bins(FREE_FALL)]
        if value and after.size and after.min() < 1.4 * levels.idle_speed:
            out[first:end] = True
    return out


def _cruise(grid: Grid, levels: Levels, speed: Values | None, moving: Flags) -> Flags:
    window = grid.bins(6.0)
    steady = moving & levels.running
    road = grid.means.get(Channel.ROAD_SPEED) if levels.moving is not None else None
    if road is not None:
        steady &= rolling_range(road, window) < np.maximum(1.0, 0.06 * road)
    if speed is not None:
        steady &= rolling_range(speed, window) < 0.08 * speed
    pressure = grid.means.get(Channel.MANIFOLD_PRESSURE)
    if pressure is not None:
        steady &= rolling_range(pressure, window) < 0.12 * levels.barometer
    if levels.throttle is not None:
        steady &= levels.throttle > CLOSED_SHARE / 2
    return steady


def _transients(grid: Grid, levels: Levels, speed: Values | None, moving: Flags) -> tuple[Flags, Flags]:
    none = np.zeros(grid.size, np.bool_)
    pressure = grid.means.get(Channel.MANIFOLD_PRESSURE)
    pull, overrun = none, none
    if pressure is not None and np.isfinite(levels.idle_pressure):
        load = levels.load(pressure)
        pull = levels.running & moving & hysteresis(load, 0.8, 0.7)
        overrun = levels.running & hysteresis(-load, 0.06, 0.02)
    elif levels.throttle is not None:
        pull = (
            levels.running
            & moving
            & hysteresis(levels.throttle, 0.7, 0.6)
            & ~_cruise(grid, levels, speed, moving)
        )
        overrun = levels.running & moving & (levels.throttle < CLOSED_SHARE)
    if speed is not None and np.isfinite(levels.idle_speed):
        overrun &= speed > 1.2 * levels.idle_speed
    return pull, overrun
