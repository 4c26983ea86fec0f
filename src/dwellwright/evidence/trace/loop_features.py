"""What the loop and its sensor do within one stretch of a recording."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import nan

import numpy as np

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace.averages import Mean, time_mean
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.cycles import (
    HYSTERESIS,
    RAREST_STEP,
    THRESHOLD,
    Estimate,
    cycle_amplitude,
    limit_cycle_period,
    swings_of,
    transition_times,
    typical_step,
)
from dwellwright.evidence.trace.delay import loop_delay
from dwellwright.evidence.trace.grid import Grid
from dwellwright.evidence.trace.loop_state import LoopState
from dwellwright.evidence.trace.regimes import Segment
from dwellwright.evidence.trace.settling import LEAST_SETTLING, settled_rows
from dwellwright.evidence.trace.trace import Values

PERCENTILES = (5.0, 50.0, 95.0)
SLOW, EARLY_SHARE = 8.0, 0.25
"""A settling longer than this beyond the usual is a slow one [s]; its first share is its beginning. (assumed)"""
_STEADY = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
_ENGINE = (
    Channel.ENGINE_SPEED,
    Channel.MANIFOLD_PRESSURE,
    Channel.THROTTLE_VOLTAGE,
    Channel.THROTTLE_OPENING,
    Channel.COOLANT_TEMPERATURE,
    Channel.ROAD_SPEED,
)


@dataclass(frozen=True)
class SensorSummary:
    """The exhaust sensor in one stretch.

    Args:
        mean: of its voltage. [V]
        low, median, high: 5th, 50th and 95th percentile. [V]
        rich_share: share of time above the threshold.
        crossing_rate: crossings of the threshold, both ways; NaN when samples are too rare to count them. [1/s]
        lean_to_rich, rich_to_lean: time of a transition; None when there were too few. [s]
    """

    mean: Mean
    low: float
    median: float
    high: float
    rich_share: float
    crossing_rate: float
    lean_to_rich: Estimate | None
    rich_to_lean: Estimate | None


@dataclass(frozen=True)
class DutySummary:
    """The command in one stretch.

    Args:
        mean: of duty, with its uncertainty and slope.
        low, median, high: 5th, 50th and 95th percentile.
        reserve_rich, reserve_lean: how far the mean is from the command that gives most and least fuel.
        closed_loop_share: share of time in which the command varies.
        share_at_rich_limit, share_at_lean_limit: share of time it lies still at a limit.
    """

    mean: Mean
    low: float
    median: float
    high: float
    reserve_rich: float
    reserve_lean: float
    closed_loop_share: float
    share_at_rich_limit: float
    share_at_lean_limit: float


@dataclass(frozen=True)
class RegimeSummary:
    """One regime, from the steady part of one stretch.

    Args:
        regime: which.
        begin, end: the part used. [s]
        settling: left out at its beginning. [s]
        engine: mean of each engine channel present, in SI.
        duty: None without a duty column.
        sensor: None without a sensor column.
        period: of the limit cycle; None when there is none. [s]
        amplitude: of duty in the cycle, half of peak to peak.
        delay: from command to sensor; None when the record does not show it. [s]
        early: of duty in what was left out as settling, its first part; None where too little was left out.
    """

    regime: Regime
    begin: float
    end: float
    settling: float
    engine: dict[Channel, Mean] = field(default_factory=dict)
    duty: DutySummary | None = None
    sensor: SensorSummary | None = None
    period: Estimate | None = None
    amplitude: Estimate | None = None
    delay: Estimate | None = None
    early: Mean | None = None

    @property
    def duration(self) -> float:
        """Length of the part used. [s]"""
        return self.end - self.begin


def regime_summary(
    grid: Grid,
    state: LoopState | None,
    values: dict[Channel, Values],
    segment: Segment,
    *,
    energized_is_lean: bool,
) -> RegimeSummary:
    """The loop in one stretch; in steady regimes the settling at its beginning is left out."""
    first, end = segment.rows
    time = values[Channel.TIME]
    duty, sensor = values.get(Channel.DUTY), values.get(Channel.SENSOR_VOLTAGE)
    if segment.regime in _STEADY:
        first, end = settled_rows(time, [duty] if duty is not None else [], first, end)
    t = time[first:end]
    own = {channel: record[first:end] for channel, record in values.items()}
    bins = slice(*np.searchsorted(grid.starts, (first, end)))
    closed = segment.regime in _STEADY and duty is not None
    d, s = own.get(Channel.DUTY), own.get(Channel.SENSOR_VOLTAGE)
    command = _duty_summary(state, t, d, bins, energized_is_lean) if d is not None else None
    period = None
    if closed and command is not None and command.closed_loop_share > 0.3:
        period = limit_cycle_period(t, s, d)
    return RegimeSummary(
        regime=segment.regime,
        begin=float(t[0]),
        end=float(t[-1]),
        settling=float(t[0]) - segment.begin,
        engine={c: time_mean(t, own[c]) for c in _ENGINE if c in own and np.isfinite(own[c]).any()},
        duty=command,
        sensor=_sensor_summary(t, s) if s is not None and sensor is not None else None,
        period=period,
        amplitude=cycle_amplitude(t, d, period.value) if period and d is not None else None,
        delay=_delay(t, d, s, period, energized_is_lean),
        early=_early(time, duty, segment.rows[0], first) if closed and duty is not None else None,
    )


def _early(time: Values, duty: Values, first: int, settled: int) -> Mean | None:
    """Mean duty where a stretch had begun but not settled; None where nothing that slow was left out."""
    begin, end = float(time[first]) + LEAST_SETTLING, float(time[min(settled, time.size - 1)])
    if end - begin < SLOW:
        return None
    span = slice(*np.searchsorted(time, (begin, begin + max(SLOW, EARLY_SHARE * (end - begin)))))
    return time_mean(time[span], duty[span]) if np.count_nonzero(np.isfinite(duty[span])) >= 3 else None


def _delay(
    time: Values, duty: Values | None, sensor: Values | None, period: Estimate | None, lean_when_high: bool
) -> Estimate | None:
    if period is None or duty is None or sensor is None:
        return None
    return loop_delay(time, duty, sensor, period.value, lean_when_high=lean_when_high)


def _duty_summary(
    state: LoopState | None, time: Values, duty: Values, bins: slice, lean_when_high: bool
) -> DutySummary | None:
    if np.count_nonzero(np.isfinite(duty)) < 3:
        return None
    mean = time_mean(time, duty)
    low, median, high = (float(v) for v in np.nanpercentile(duty, PERCENTILES))
    shares = [0.0, 0.0, 0.0]
    if state is not None and bins.stop > bins.start:
        shares = [float(flags[bins].mean()) for flags in (state.active, state.at_low, state.at_high)]
    closed, bottom, top = shares
    rich, lean = (bottom, top) if lean_when_high else (top, bottom)
    below, above = mean.value, 1.0 - mean.value
    return DutySummary(
        mean=mean,
        low=low,
        median=median,
        high=high,
        reserve_rich=below if lean_when_high else above,
        reserve_lean=above if lean_when_high else below,
        closed_loop_share=closed,
        share_at_rich_limit=rich,
        share_at_lean_limit=lean,
    )


def _sensor_summary(time: Values, sensor: Values) -> SensorSummary | None:
    good = np.isfinite(sensor)
    if np.count_nonzero(good) < 3:
        return None
    low, median, high = (float(v) for v in np.percentile(sensor[good], PERCENTILES))
    swings = swings_of(time, sensor, THRESHOLD, min(HYSTERESIS, max(0.1 * (high - low), 0.005)))
    rate = swings.count() / max(float(time[-1] - time[0]), 1e-9)
    up, down = transition_times(time, sensor, low, high)
    return SensorSummary(
        mean=time_mean(time, sensor),
        low=low,
        median=median,
        high=high,
        rich_share=float((sensor[good] > THRESHOLD).mean()),
        crossing_rate=rate if typical_step(time) <= RAREST_STEP else nan,
        lean_to_rich=up,
        rich_to_lean=down,
    )
