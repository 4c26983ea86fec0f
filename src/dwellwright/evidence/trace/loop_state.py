"""Whether the command varies (the loop is closed), stands still, or lies at a limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.grid import Grid
from dwellwright.evidence.trace.rolling import Flags, bridged, hysteresis, rolling_mean, without_short
from dwellwright.evidence.trace.trace import Values

VARIES = 0.0075
"""Standard deviation of duty above which the command varies: 0.45 deg on the six-cylinder scale. (assumed)"""
RICH_BAND, LEAN_BAND = 10 / 60, 50 / 60
"""Outside these a command that stands still is at a limit (common practice, no source: 10 and 50 deg)."""


def duty_spread(grid: Grid, seconds: float = 4.0) -> Values | None:
    """Local standard deviation of duty about each bin. Shape (bins,)"""
    duty = grid.means.get(Channel.DUTY)
    if duty is None or grid.duty_square is None:
        return None
    window = grid.bins(seconds)
    variance = rolling_mean(grid.duty_square, window) - rolling_mean(duty, window) ** 2
    return np.sqrt(np.maximum(variance, 0.0))


def loop_active(grid: Grid) -> Flags | None:
    """Bins in which the command varies as a closed loop does: not a step, not a meter's noise."""
    spread = duty_spread(grid)
    if spread is None:
        return None
    noise = float(np.percentile(spread, 5))
    on = max(VARIES, min(3.0 * noise, 2.5 * VARIES))
    active = hysteresis(spread, on, 0.6 * on)
    return bridged(without_short(active, grid.bins(8.0)), grid.bins(4.0))


@dataclass(frozen=True)
class LoopState:
    """Per bin: whether the command varies, and whether it lies still at the low or the high end of its range."""

    active: Flags
    at_low: Flags
    at_high: Flags


def loop_state(grid: Grid) -> LoopState | None:
    """The state of the loop in every bin; None without a duty column."""
    duty, spread, active = grid.means.get(Channel.DUTY), duty_spread(grid, 1.5), loop_active(grid)
    if duty is None or spread is None or active is None:
        return None
    still = spread < 2.0 * VARIES
    return LoopState(active, still & (duty < RICH_BAND), still & (duty > LEAN_BAND))
