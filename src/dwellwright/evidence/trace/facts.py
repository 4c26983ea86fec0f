"""A recording's summary as observations."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import isfinite, sqrt

from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.evidence.trace.averages import Mean
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.cycles import Estimate
from dwellwright.evidence.trace.loop_features import DutySummary, RegimeSummary, SensorSummary
from dwellwright.evidence.trace.summary import TraceSummary

_STEADY = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
_ENGINE = {
    Channel.ENGINE_SPEED: (Measured.ENGINE_SPEED, 0.2),
    Channel.MANIFOLD_PRESSURE: (Measured.MANIFOLD_PRESSURE, 300.0),
    Channel.THROTTLE_VOLTAGE: (Measured.THROTTLE_VOLTAGE, 0.02),
    Channel.COOLANT_TEMPERATURE: (Measured.COOLANT_TEMPERATURE, 1.0),
}
"""What each engine channel is a reading of, and the calibration doubt of a plain instrument. (assumed)"""
DUTY_CALIBRATION = 0.005
"""Standard uncertainty of a dwell reading's scale: 0.3 deg on the six-cylinder scale. (assumed)"""
SENSOR_CALIBRATION = 0.01
"""[V] (assumed)"""


def observations(summary: TraceSummary) -> list[Observation]:
    """Everything a recording tells, as observations. Calibration doubt is added to the record's own."""
    found: list[Observation] = []
    for regime, seen in summary.regimes.items():
        if regime in _STEADY:
            found += _regime(summary, seen)
    found += _story(summary)
    return [o for o in found if isfinite(o.value) and isfinite(o.uncertainty)]


def _regime(summary: TraceSummary, seen: RegimeSummary) -> list[Observation]:
    source = f"{summary.source}, {seen.begin:.0f} to {seen.end:.0f} s"
    time = _moment(summary.started, seen.begin)
    rows: list[tuple[Measured, float, float]] = []
    for channel, (measured, calibration) in _ENGINE.items():
        if channel in seen.engine:
            mean = seen.engine[channel]
            rows.append((measured, mean.value, _with(mean, calibration)))
    if seen.duty is not None:
        rows += _duty(seen.duty, seen)
    if seen.sensor is not None:
        rows += _sensor(seen.sensor, seen)
    for measured, estimate in (
        (Measured.LIMIT_CYCLE_PERIOD, seen.period),
        (Measured.LIMIT_CYCLE_AMPLITUDE, seen.amplitude),
        (Measured.LOOP_DELAY, seen.delay),
    ):
        if estimate is not None:
            rows.append((measured, estimate.value, estimate.uncertainty))
    return [Observation(m, seen.regime, value, doubt, source, time=time) for m, value, doubt in rows]


def _duty(duty: DutySummary, seen: RegimeSummary) -> list[tuple[Measured, float, float]]:
    return [
        (Measured.DUTY, duty.mean.value, _with(duty.mean, DUTY_CALIBRATION)),
        (Measured.CLOSED_LOOP_SHARE, duty.closed_loop_share, _share_doubt(duty.closed_loop_share, seen)),
        (
            Measured.SHARE_AT_RICH_LIMIT,
            duty.share_at_rich_limit,
            _share_doubt(duty.share_at_rich_limit, seen),
        ),
        (
            Measured.SHARE_AT_LEAN_LIMIT,
            duty.share_at_lean_limit,
            _share_doubt(duty.share_at_lean_limit, seen),
        ),
    ]


def _sensor(sensor: SensorSummary, seen: RegimeSummary) -> list[tuple[Measured, float, float]]:
    rows = [
        (Measured.SENSOR_MEAN, sensor.mean.value, _with(sensor.mean, SENSOR_CALIBRATION)),
        (Measured.SENSOR_HIGH, sensor.high, SENSOR_CALIBRATION),
        (Measured.SENSOR_LOW, sensor.low, SENSOR_CALIBRATION),
        (Measured.SENSOR_RICH_SHARE, sensor.rich_share, _share_doubt(sensor.rich_share, seen)),
        (
            Measured.SENSOR_CROSSING_RATE,
            sensor.crossing_rate,
            sqrt(sensor.crossing_rate / max(seen.duration, 1.0)),
        ),
    ]
    for measured, estimate in (
        (Measured.LEAN_TO_RICH_TIME, sensor.lean_to_rich),
        (Measured.RICH_TO_LEAN_TIME, sensor.rich_to_lean),
    ):
        if estimate is not None:
            rows.append((measured, estimate.value, estimate.uncertainty))
    return rows


def _share_doubt(share: float, seen: RegimeSummary) -> float:
    """Binomial doubt of a share, with one independent look per limit cycle (or two seconds), Laplace's rule at
    the ends."""
    looks = max(seen.duration / (seen.period.value if seen.period else 2.0), 1.0)
    smoothed = (share * looks + 1.0) / (looks + 2.0)
    return sqrt(smoothed * (1.0 - smoothed) / (looks + 3.0))


def _with(mean: Mean, calibration: float) -> float:
    own = mean.uncertainty if isfinite(mean.uncertainty) else mean.spread
    return sqrt(own**2 + calibration**2)


def _story(summary: TraceSummary) -> list[Observation]:
    story = summary.features
    found = []

    def add(measured: Measured, regime: Regime, estimate: Estimate | None, place: str) -> None:
        if estimate is not None:
            source = f"{summary.source}, {place}"
            found.append(Observation(measured, regime, estimate.value, estimate.uncertainty, source))

    around = story.barometer
    if around is not None:
        calibration = _ENGINE[Channel.MANIFOLD_PRESSURE][1]
        around = Estimate(around.value, sqrt(around.uncertainty**2 + calibration**2), around.count)
    add(Measured.BAROMETER, Regime.KEY_ON, around, "key on before the start")
    since = "after the engine's start" if story.engine_start is not None else "after the recording's start"
    add(Measured.FIRST_CLOSED_LOOP, Regime.WARM_UP, story.entry_delay, since)
    if story.entry_coolant is not None:
        warm = Estimate(story.entry_coolant, 1.5, 1)
        add(Measured.COOLANT_TEMPERATURE, Regime.WARM_UP, warm, "when the loop first closed")
    return found


def _moment(started: datetime | None, seconds: float) -> datetime | None:
    return started + timedelta(seconds=seconds) if started is not None else None
