"""Means whose uncertainty knows autocorrelation; settling."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.tsa.ar_model import AutoReg
from statsmodels.tsa.stattools import acovf

from dwellwright.evidence.trace.averages import (
    autocovariance,
    best_autoregression,
    spectrum_at_zero,
    time_mean,
)
from dwellwright.evidence.trace.settling import settled_rows


def autoregressive(count: int, memory: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    out, value = np.zeros(count), 0.0
    for i in range(count):
        value = memory * value + rng.standard_normal()
        out[i] = value
    return out


def test_autocovariance_agrees_with_another_library() -> None:
    x = autoregressive(500, 0.7, 0)
    assert autocovariance(x, 20) == pytest.approx(acovf(x, nlag=20, fft=False))  # statsmodels


def test_autoregression_agrees_with_another_library() -> None:
    x = autoregressive(4000, 0.8, 1)
    coefficients, innovation = best_autoregression(x, longest=1)
    fitted = AutoReg(x, 1).fit()  # statsmodels, least squares instead of Yule-Walker
    assert coefficients[0] == pytest.approx(fitted.params[1], abs=0.005)
    assert innovation == pytest.approx(fitted.sigma2, rel=0.02)


@pytest.mark.parametrize("memory", [0.0, 0.5, 0.9])
def test_uncertainty_of_the_mean_of_an_autoregression(memory: float) -> None:
    # closed form: long-run variance of AR(1) with unit innovations is 1/(1-phi)^2
    found = [spectrum_at_zero(autoregressive(4000, memory, seed)) for seed in range(12)]
    assert float(np.median(found)) == pytest.approx(1 / (1 - memory) ** 2, rel=0.2)


def test_intervals_cover_the_truth() -> None:
    # truth 0; 95 % intervals of autocorrelated records at 10 Hz must hold it about that often
    time = np.arange(600) * 0.1
    means = [time_mean(time, autoregressive(600, 0.9, seed)) for seed in range(150)]
    covered = np.mean([abs(m.value) < 2 * m.uncertainty for m in means])
    assert 0.85 < covered <= 1.0
    naive = np.mean([abs(m.value) < 2 * m.spread / np.sqrt(600) for m in means])
    assert naive < 0.6  # what counting samples would have claimed


def test_a_limit_cycle_averages_out() -> None:
    # closed form: the mean of whole periods of a sine is 0, and its spectrum at zero vanishes
    time = np.arange(900) * 0.05
    wave = np.sin(2 * np.pi * time / 1.5) + 0.01 * np.random.default_rng(0).standard_normal(900)
    mean = time_mean(time, wave)
    assert abs(mean.value) < 0.005
    assert mean.uncertainty < 0.4 * mean.spread / np.sqrt(900)


def test_gaps_weigh_nothing() -> None:
    # 10 s at 1, a gap of 100 s, 10 s at 3: mean 2, whatever the gap
    time = np.concatenate((np.arange(100) * 0.1, 110 + np.arange(100) * 0.1))
    values = np.repeat([1.0, 3.0], 100)
    assert time_mean(time, values).value == pytest.approx(2.0, abs=0.02)


def test_uneven_sampling_is_weighed_by_time() -> None:
    # a ramp from 0 to 10 sampled ten times denser in its first half: mean 5 by the trapezoid rule, exact
    time = np.concatenate((np.linspace(0, 5, 501), np.linspace(5.1, 10, 50)))
    assert time_mean(time, time).value == pytest.approx(5.0, abs=1e-9)


def test_a_slope_is_found_with_its_doubt() -> None:
    time = np.arange(1000) * 0.1
    mean = time_mean(time, 0.01 * time + 0.1 * autoregressive(1000, 0.5, 3))
    assert mean.slope == pytest.approx(0.01, abs=4 * mean.slope_uncertainty)
    assert mean.slope > 5 * mean.slope_uncertainty


def test_blanks_are_left_out_and_too_few_readings_are_no_mean() -> None:
    time = np.arange(10.0)
    values = np.full(10, np.nan)
    assert np.isnan(time_mean(time, values).value)
    values[3] = 2.0
    mean = time_mean(time, values)
    assert (mean.value, mean.samples) == (2.0, 1)
    assert np.isnan(mean.uncertainty)


def test_a_transient_is_cut_and_a_steady_record_is_not() -> None:
    time = np.arange(1200) * 0.05
    noise = 0.02 * np.random.default_rng(0).standard_normal(1200)
    first, end = settled_rows(time, [0.5 + noise], 0, 1200)
    assert 11.5 < time[first] < 15.0
    assert 58.5 < time[end - 1] < 59.5
    first, _ = settled_rows(time, [0.5 + 0.5 * np.exp(-time / 6.0) + noise], 0, 1200)
    assert 17.0 < time[first] <= 30.0
