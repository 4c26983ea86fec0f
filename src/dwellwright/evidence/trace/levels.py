"""What this engine's own idle, closed throttle, warm coolant and barometer are, learned from its recording."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.grid import Grid
from dwellwright.evidence.trace.rolling import Flags, hysteresis
from dwellwright.evidence.trace.trace import Values

RUNNING_SPEED = 350 / 60
STOPPED_SPEED = 150 / 60
"""The engine runs above the first and has stopped below the second. [rev/s] (common practice, no source)"""
HIGHEST_IDLE = 1300 / 60
"""A warm idle is sought below this. [rev/s] (common practice, no source)"""
MOVING_SPEED, STANDING_SPEED = 1.5, 0.7
"""[m/s] (assumed)"""
CLOSED_SHARE = 0.12
"""Throttle sensor travel, of the range seen, below which the throttle is closed. (assumed)"""
STANDARD_ATMOSPHERE = 101325.0


@dataclass(frozen=True)
class Levels:
    """Levels learned; NaN where the channels do not tell.

    Args:
        idle_speed: median of the warm idle. [rev/s]
        idle_pressure: manifold pressure there. [Pa]
        barometer: highest manifold pressure seen, or the standard atmosphere. [Pa]
        warm: coolant of the warm idle. [K]
        running: bins in which the engine runs.
        moving: bins in which the car moves; None when nothing says so.
        throttle: throttle travel as a share of the range seen; None without throttle channel.
        dead_speedometer: the road speed never left zero though the engine was loaded as in a drive.
    """

    idle_speed: float
    idle_pressure: float
    barometer: float
    warm: float
    running: Flags
    moving: Flags | None
    throttle: Values | None
    dead_speedometer: bool

    def load(self, pressure: Values) -> Values:
        """Manifold pressure as a share of the way from idle to the barometer."""
        return (pressure - self.idle_pressure) / max(self.barometer - self.idle_pressure, 1000.0)


def learned_levels(grid: Grid) -> Levels:
    """The levels of one recording."""
    speed = grid.means.get(Channel.ENGINE_SPEED)
    pressure = grid.means.get(Channel.MANIFOLD_PRESSURE)
    running = _running(grid, speed, pressure)
    throttle = _throttle_share(grid, running)
    road = grid.means.get(Channel.ROAD_SPEED)
    moving = hysteresis(road, MOVING_SPEED, STANDING_SPEED) if road is not None else None
    barometer = _barometer(grid, pressure)
    idle = _idle_bins(grid, running, moving, throttle, speed, pressure, barometer)
    dead = False
    if moving is not None and not moving.any() and pressure is not None and idle.any():
        rest = float(np.median(pressure[idle]))
        loaded = running & (pressure > rest + 0.3 * (barometer - rest))
        dead = bool(np.count_nonzero(loaded) * grid.width > 15.0)
    coolant = grid.means.get(Channel.COOLANT_TEMPERATURE)
    return Levels(
        idle_speed=_median(speed, idle),
        idle_pressure=_median(pressure, idle),
        barometer=barometer,
        warm=float(np.percentile(coolant[idle], 95)) if coolant is not None and idle.any() else float("nan"),
        running=running,
        moving=None if dead else moving,
        throttle=throttle,
        dead_speedometer=dead,
    )


def _median(values: Values | None, where: Flags) -> float:
    return float(np.median(values[where])) if values is not None and where.any() else float("nan")


def _running(grid: Grid, speed: Values | None, pressure: Values | None) -> Flags:
    if speed is not None:
        return hysteresis(speed, RUNNING_SPEED, STOPPED_SPEED)
    if pressure is not None:
        under = pressure < 0.8 * np.percentile(pressure, 99)
        return np.asarray(np.maximum.accumulate(under), np.bool_)
    return np.ones(grid.size, np.bool_)


def _barometer(grid: Grid, pressure: Values | None) -> float:
    given = grid.means.get(Channel.BAROMETER)
    if given is not None:
        return float(np.median(given))
    highest = float(np.percentile(pressure, 99.8)) if pressure is not None else 0.0
    return highest if highest > 0.85 * STANDARD_ATMOSPHERE else STANDARD_ATMOSPHERE


def _throttle_share(grid: Grid, running: Flags) -> Values | None:
    for channel, least in ((Channel.THROTTLE_VOLTAGE, 1.5), (Channel.THROTTLE_OPENING, 0.35)):
        values = grid.means.get(channel)
        if values is None or np.ptp(values) <= 0.0:
            continue
        seen = values[running] if running.any() else values
        closed = float(np.percentile(seen, 2))
        return (values - closed) / max(float(np.percentile(seen, 99.5)) - closed, least)
    return None


def _idle_bins(
    grid: Grid,
    running: Flags,
    moving: Flags | None,
    throttle: Values | None,
    speed: Values | None,
    pressure: Values | None,
    barometer: float,
) -> Flags:
    """Bins that are an idle beyond doubt, warm ones if there are enough."""
    bins = running.copy()
    if moving is not None:
        bins &= ~moving
    wishes: list[Flags] = []
    if speed is not None:
        wishes.append(speed < HIGHEST_IDLE)
    if throttle is not None:
        wishes.append(throttle < CLOSED_SHARE)
    if pressure is not None:
        wishes.append(pressure < 0.65 * barometer)
    coolant = grid.means.get(Channel.COOLANT_TEMPERATURE)
    if coolant is not None and bins.any():
        wishes.append(coolant > np.percentile(coolant[bins], 90) - 8.0)
    enough = grid.bins(5.0)
    for wish in wishes:
        if np.count_nonzero(bins & wish) >= enough:
            bins &= wish
    if speed is not None and bins.any():  # of several speeds with a closed throttle the slow one is the idle
        slow = speed < 1.25 * np.percentile(speed[bins], 20)
        bins &= slow
    return bins
