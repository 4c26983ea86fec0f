"""What happened around the regimes: barometer before the start, loop entry, wide-throttle enrichment."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.cycles import Estimate
from dwellwright.evidence.trace.grid import Grid
from dwellwright.evidence.trace.levels import Levels
from dwellwright.evidence.trace.loop_state import RICH_BAND, LoopState, duty_spread
from dwellwright.evidence.trace.regimes import Segment
from dwellwright.evidence.trace.trace import Trace

LONG_PULL = 3.0
"""A pull that long must have brought wide-throttle enrichment if there is any. [s] (assumed)"""

LEAVES = 0.015
"""A command that moves so far from its standing level has left it: 0.9 deg on the six-cylinder scale. (assumed)"""


@dataclass(frozen=True)
class Story:
    """Events of a recording; None where it does not tell.

    Args:
        barometer: manifold pressure with the key on and the engine still. [Pa]
        engine_start: when the engine first ran; None if it ran from the first row. [s]
        first_closed_loop: when the command first varied for good, on the recording's clock. [s]
        entry_delay: from the engine's start, or the recording's, to then. [s]
        entry_coolant: coolant at that moment. [K]
        enrichment_seen: whether a pull drove the command to its rich end; None without a pull long enough.
    """

    barometer: Estimate | None
    engine_start: float | None
    first_closed_loop: float | None
    entry_delay: Estimate | None
    entry_coolant: float | None
    enrichment_seen: bool | None


def story_of(
    trace: Trace, grid: Grid, levels: Levels, segments: tuple[Segment, ...], state: LoopState | None
) -> Story:
    """The events of a recording."""
    running = levels.running
    start = float(grid.time[int(np.argmax(running))]) if running.any() and not running[0] else None
    entry = int(np.argmax(state.active)) if state is not None and state.active.any() else None
    if entry == 0:  # closed from the first row: when it closed is not in the recording
        entry = None
    first = _entry_instant(trace, float(grid.time[entry])) if entry is not None else None
    coolant = grid.means.get(Channel.COOLANT_TEMPERATURE)
    begun = start if start is not None else float(grid.time[0])
    doubt = 2.0 * grid.width if start is not None else 5.0
    return Story(
        barometer=_barometer(trace, segments),
        engine_start=start,
        first_closed_loop=first,
        entry_delay=Estimate(first - begun, doubt, 1) if first is not None else None,
        entry_coolant=float(coolant[entry]) if coolant is not None and entry is not None else None,
        enrichment_seen=_enrichment(trace, grid, segments),
    )


def _entry_instant(trace: Trace, about: float) -> float:
    """First row, near the bin found, at which duty leaves the level it stood at. [s]"""
    time, duty = trace.time, trace.values(Channel.DUTY)
    around = slice(*np.searchsorted(time, (about - 8.0, about + 8.0)))
    time, duty = time[around], duty[around]
    before = (time < about - 2.0) & np.isfinite(duty)
    near = (time >= about - 2.0) & np.isfinite(duty)
    if np.count_nonzero(before) < 3 or not near.any():
        return about
    level = float(np.median(duty[before]))
    noise = 1.4826 * float(np.median(np.abs(duty[before] - level)))
    left = near & (np.abs(duty - level) > max(6.0 * noise, LEAVES))
    return float(time[int(np.argmax(left))]) if left.any() else about


def _barometer(trace: Trace, segments: tuple[Segment, ...]) -> Estimate | None:
    """Median key-on pressure; the channel's scatter, not its calibration, makes the uncertainty."""
    key_on = [s for s in segments if s.regime is Regime.KEY_ON]
    if not key_on or not trace.has(Channel.MANIFOLD_PRESSURE):
        return None
    seen = trace.values(Channel.MANIFOLD_PRESSURE)[slice(*key_on[0].rows)]
    seen = seen[np.isfinite(seen)]
    if seen.size < 3:
        return None
    spread = 1.4826 * float(np.median(np.abs(seen - np.median(seen))))
    return Estimate(float(np.median(seen)), max(1.2533 * spread / sqrt(seen.size), 50.0), int(seen.size))


def _enrichment(trace: Trace, grid: Grid, segments: tuple[Segment, ...]) -> bool | None:
    duty, spread = grid.means.get(Channel.DUTY), duty_spread(grid, 1.0)
    pulls = [s for s in segments if s.regime is Regime.PULL and s.duration >= LONG_PULL]
    if duty is None or spread is None or not pulls:
        return None
    if not trace.polarity.energized_is_lean:
        duty = 1.0 - duty
    fixed_rich = (duty < RICH_BAND) & (spread < 0.05)
    return any(np.count_nonzero(fixed_rich[slice(*s.bins)]) * grid.width >= 1.0 for s in pulls)
