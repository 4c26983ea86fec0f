"""Delay by prewhitened correlation, against a published model, and in an invented closed loop."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from tests.evidence.trace.synthetic import Phase, driven

from dwellwright.evidence.trace.cycles import limit_cycle_period
from dwellwright.evidence.trace.delay import first_significant_lag, loop_delay, prewhitened_correlation

Values = NDArray[np.float64]


def gas_furnace(seed: int, samples: int = 296) -> tuple[Values, Values]:
    """Series synthesised from the published model of Box & Jenkins' series J.

    Transfer function from check-values (delay 3; omega .53, .38, .52; delta .55; negative gain). Input AR(3) and
    noise AR(2) of the same book's model: from memory.
    """
    rng = np.random.default_rng(seed)
    warm = 200
    shocks, noise = rng.standard_normal(samples + warm), rng.standard_normal(samples + warm)
    x, smooth, y, n = (np.zeros(samples + warm) for _ in range(4))
    for t in range(6, samples + warm):
        x[t] = 1.97 * x[t - 1] - 1.37 * x[t - 2] + 0.34 * x[t - 3] + np.sqrt(0.0353) * shocks[t]
        driven_by = 0.53 * x[t - 3] + 0.38 * x[t - 4] + 0.52 * x[t - 5]
        smooth[t] = 0.55 * smooth[t - 1] - driven_by
        n[t] = 1.53 * n[t - 1] - 0.63 * n[t - 2] + np.sqrt(0.0561) * noise[t]
        y[t] = smooth[t] + n[t]
    return x[warm:], y[warm:]


def raw_correlation(x: Values, y: Values, lags: int) -> Values:
    x, y = x - x.mean(), y - y.mean()
    scale = np.sqrt((x @ x) * (y @ y))
    return np.array([x[: x.size - k] @ y[k:] / scale for k in range(lags + 1)])


def test_the_published_delay_is_recovered_where_the_raw_peak_is_wrong() -> None:
    # published: delay 3, raw cross-correlation peaks at 5 (check-values, F/M)
    lags, raw = [], []
    for seed in range(25):
        x, y = gas_furnace(seed)
        lags.append(first_significant_lag(prewhitened_correlation(x, y, 12), x.size, 0))
        raw.append(int(np.argmax(np.abs(raw_correlation(x, y, 12)))))
    assert lags.count(3) >= 20
    assert int(np.median(raw)) == 5
    assert raw.count(3) == 0


def test_the_published_correlations_are_recovered() -> None:
    # published for the series itself, lags 3 to 7: -.28 -.33 -.46 -.27 -.17; standard error 0.058 for 296 samples
    pairs = [gas_furnace(seed) for seed in range(25)]
    mean = np.mean([prewhitened_correlation(x, y, 7) for x, y in pairs], axis=0)
    assert mean[3:8] == pytest.approx([-0.28, -0.33, -0.46, -0.27, -0.17], abs=0.12)
    assert np.abs(mean[:3]).max() < 0.06


def test_a_record_of_nothing_has_no_delay() -> None:
    rng = np.random.default_rng(1)
    found = [
        first_significant_lag(prewhitened_correlation(*rng.standard_normal((2, 300)), lags=10), 300, 0)
        for _ in range(20)
    ]
    assert found.count(None) >= 17


@pytest.mark.parametrize(("delay", "rate"), [(0.25, 25), (0.4, 15), (0.6, 15), (0.9, 15)])
@pytest.mark.parametrize("energized_is_lean", [True, False])
def test_the_delay_of_a_closed_loop(delay: float, rate: int, energized_is_lean: bool) -> None:
    # truth: the pure delay put into the invented loop; the sensor's lag of 0.12 s is not counted in it
    car = driven([Phase("idle", 90, 750, 34, 0.55, needed=0.5, delay=delay, wander=0.02)], jump=0.03)
    rows = slice(1500, None, 100 // rate)
    time, duty, sensor = car.time[rows], car.columns["duty"][rows], car.columns["o2_mv"][rows] / 1000
    if not energized_is_lean:
        duty = 1.0 - duty
    period = limit_cycle_period(time, sensor, duty)
    assert period is not None
    found = loop_delay(time, duty, sensor, period.value, lean_when_high=energized_is_lean)
    assert found is not None
    assert found.value == pytest.approx(delay, abs=0.1)
    assert abs(found.value - delay) < 2.5 * found.uncertainty


def test_no_delay_is_claimed_from_few_or_rare_samples() -> None:
    time = np.arange(50) * 0.1
    assert loop_delay(time, time * 0, time * 0, 1.0, lean_when_high=True) is None
    time = np.arange(500) * 1.0
    wave = np.sin(time)
    assert loop_delay(time, wave, wave, 1.2, lean_when_high=True) is None
