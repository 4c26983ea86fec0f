"""Observations of an invented drive: complete, in SI, within their uncertainty of what was put in."""

from __future__ import annotations

from functools import cache
from math import isfinite
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from tests.evidence.trace.synthetic import Car, driven, usual_drive, written

from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.evidence.trace import observations, read_trace, summarize


@cache
def car() -> Car:
    return driven(usual_drive(needed=0.42, wander=0.01), seed=5)


@cache
def told(rate: float = 20.0) -> dict[tuple[Measured, Regime], Observation]:
    with TemporaryDirectory() as folder:
        seen = observations(summarize(read_trace(written(car(), Path(folder) / "log.csv", rate=rate))))
    found = {(o.measured, o.regime): o for o in seen}
    assert len(found) == len(seen)  # nothing is said twice
    return found


@pytest.mark.parametrize("regime", [Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE])
def test_the_loop_is_told_in_each_steady_regime(regime: Regime) -> None:
    for measured in (
        Measured.DUTY, Measured.CLOSED_LOOP_SHARE, Measured.SHARE_AT_RICH_LIMIT, Measured.SHARE_AT_LEAN_LIMIT,
        Measured.LIMIT_CYCLE_PERIOD, Measured.LIMIT_CYCLE_AMPLITUDE, Measured.SENSOR_MEAN, Measured.SENSOR_HIGH,
        Measured.SENSOR_LOW, Measured.SENSOR_RICH_SHARE, Measured.SENSOR_CROSSING_RATE, Measured.LEAN_TO_RICH_TIME,
        Measured.RICH_TO_LEAN_TIME, Measured.ENGINE_SPEED, Measured.MANIFOLD_PRESSURE, Measured.THROTTLE_VOLTAGE,
        Measured.COOLANT_TEMPERATURE,
    ):  # fmt: skip
        seen = told()[(measured, regime)]
        assert isfinite(seen.value)
        assert seen.uncertainty > 0
        assert seen.source.startswith("log.csv, ")


# truth: as driven (tests/evidence/trace/synthetic.py); periods and sensor levels of the same invented loop
@pytest.mark.parametrize(
    ("measured", "regime", "truth"),
    [
        (Measured.ENGINE_SPEED, Regime.IDLE, 750 / 60),
        (Measured.ENGINE_SPEED, Regime.FAST_NO_LOAD, 50.0),
        (Measured.MANIFOLD_PRESSURE, Regime.CRUISE, 58e3),
        (Measured.THROTTLE_VOLTAGE, Regime.IDLE, 0.55),
        (Measured.CLOSED_LOOP_SHARE, Regime.IDLE, 1.0),
        (Measured.SHARE_AT_RICH_LIMIT, Regime.IDLE, 0.0),
        (Measured.BAROMETER, Regime.KEY_ON, 100e3),
        (Measured.FIRST_CLOSED_LOOP, Regime.WARM_UP, 90.0),
    ],
)
def test_values_are_near_the_truth(measured: Measured, regime: Regime, truth: float) -> None:
    seen = told()[(measured, regime)]
    assert abs(seen.value - truth) < 3.0 * seen.uncertainty


@pytest.mark.parametrize("regime", [Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE])
def test_duty_is_within_its_interval(regime: Regime) -> None:
    low, high = told()[(Measured.DUTY, regime)].interval(2.5)
    assert low < car().duty_mean(regime.value) < high


def test_the_delay_of_the_idle_is_told() -> None:
    seen = told()[(Measured.LOOP_DELAY, Regime.IDLE)]
    assert seen.value == pytest.approx(0.4, abs=2.5 * seen.uncertainty)


def test_a_slow_recording_tells_means_only() -> None:
    seen = told(rate=1.0)
    assert (Measured.DUTY, Regime.IDLE) in seen
    for measured in (Measured.LIMIT_CYCLE_PERIOD, Measured.SENSOR_CROSSING_RATE, Measured.LEAN_TO_RICH_TIME):
        assert (measured, Regime.IDLE) not in seen
