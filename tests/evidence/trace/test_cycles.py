"""Crossings, period, amplitude and transitions of waves whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest
from tests.evidence.trace.synthetic import Phase, driven

from dwellwright.evidence.trace.cycles import (
    cycle_amplitude,
    limit_cycle_period,
    swings_of,
    transition_times,
    without_wander,
)

RNG = np.random.default_rng(0)


def switching(time: np.ndarray, period: float, rise: float) -> np.ndarray:
    """A sensor of 0.1 to 0.9 V that ramps up and down in `rise` seconds, half the period rich."""
    phase = time % period
    up = np.clip(phase / rise, 0, 1)
    down = np.clip((phase - period / 2) / rise, 0, 1)
    return 0.1 + 0.8 * (up - down)


@pytest.mark.parametrize("rate", [10.0, 20.0, 50.0])
@pytest.mark.parametrize("period", [1.0, 1.7, 3.6])
def test_the_period_of_a_sensor(rate: float, period: float) -> None:
    time = np.sort(np.arange(0, 50, 1 / rate) + RNG.uniform(-0.2, 0.2, int(50 * rate)) / rate)
    found = limit_cycle_period(
        time, switching(time, period, 0.15) + 0.01 * RNG.standard_normal(time.size), None
    )
    assert found is not None
    assert found.value == pytest.approx(period, rel=0.02)
    assert abs(found.value - period) < 4 * found.uncertainty + 1e-3


def test_the_period_of_the_duty_when_the_sensor_is_silent() -> None:
    time = np.arange(0, 60, 0.07)
    duty = 0.5 + 0.04 * np.sin(2 * np.pi * time / 1.9) + 0.002 * time
    found = limit_cycle_period(time, np.full(time.size, 0.45), duty)
    assert found is not None
    assert found.value == pytest.approx(1.9, rel=0.02)


def test_no_period_where_there_is_none_or_it_cannot_be_seen() -> None:
    time = np.arange(0, 60, 0.1)
    still = np.full(time.size, 0.5)
    assert limit_cycle_period(time, still, still) is None
    slow = np.arange(0, 200, 1.0)
    assert limit_cycle_period(slow, switching(slow, 1.3, 0.1), None) is None


def test_a_closed_loop_agrees_with_the_closed_form() -> None:
    # closed form (check-values): pure integral and delay has a period of four delays; a short sensor lag adds
    car = driven([Phase("idle", 60, 750, 34, 0.5, needed=0.5, delay=0.4)], lag=0.02, jump=0.0)
    keep = car.time > 10
    time, sensor = car.time[keep], car.columns["o2_mv"][keep] / 1000
    found = limit_cycle_period(time[::5], sensor[::5], None)
    assert found is not None
    assert found.value == pytest.approx(4 * 0.4, rel=0.1)
    duty = car.columns["duty"][keep]
    amplitude = cycle_amplitude(time, duty, found.value)
    assert amplitude is not None
    assert amplitude.value == pytest.approx(0.06 * 0.4, rel=0.1)  # closed form: K * theta


def test_noise_at_the_threshold_is_not_a_crossing() -> None:
    time = np.arange(0, 30, 0.05)
    assert swings_of(time, 0.45 + 0.01 * RNG.standard_normal(time.size), 0.45, 0.05).count() == 0


def test_no_interval_is_taken_across_a_gap() -> None:
    time = np.concatenate((np.arange(0, 10, 0.05), np.arange(40, 50, 0.05)))
    swings = swings_of(time, switching(time, 1.0, 0.1), 0.45, 0.05)
    assert swings.intervals(1).max() < 1.1
    assert swings.intervals(1).size == pytest.approx(17, abs=2)


@pytest.mark.parametrize("rise", [0.15, 0.3])
def test_transition_times(rise: float) -> None:
    # closed form: from 20 to 80 % of a straight ramp takes 0.6 of it
    time = np.arange(0, 60, 0.02)
    up, down = transition_times(time, switching(time, 2.0, rise), 0.1, 0.9)
    assert up is not None
    assert down is not None
    assert up.value == pytest.approx(0.6 * rise, abs=0.01)
    assert down.value == pytest.approx(0.6 * rise, abs=0.01)


def test_an_unresolved_transition_says_so() -> None:
    time = np.arange(0, 60, 0.1)
    up, _ = transition_times(time, switching(time, 2.03, 0.02), 0.1, 0.9)
    assert up is not None
    assert up.value - 2 * up.uncertainty < 0.012  # the truth, 0.6 * 0.02 s, lies within


def test_a_still_sensor_has_no_transitions() -> None:
    time = np.arange(0, 60, 0.1)
    assert transition_times(time, np.full(time.size, 0.4), 0.38, 0.42) == (None, None)


def test_wander_is_taken_out() -> None:
    time = np.arange(0, 60, 0.1)
    left = without_wander(time, 0.5 + 0.005 * time)
    assert np.abs(left[50:-50]).max() < 0.01
