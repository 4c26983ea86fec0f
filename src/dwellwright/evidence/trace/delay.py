"""Time from command to sensor, by cross-correlation of prewhitened records."""

from __future__ import annotations

from math import sqrt

import numpy as np

from dwellwright.evidence.trace.averages import best_autoregression
from dwellwright.evidence.trace.cycles import Estimate
from dwellwright.evidence.trace.trace import Values

SIGNIFICANT = 3.0
"""A lag counts beyond so many standard errors 1/sqrt(n). (assumed)"""
STANDS_OUT = 4.5
"""The loop's own lag must stand out by so many, because the loop also answers itself. (assumed)"""
SHORTEST_SHARE, LONGEST_SHARE = 0.12, 0.65
"""Delays sought, as shares of the period: a quarter to a half, widened for a lagging sensor and an averaging meter.
(assumed)"""
DOUBT_SHARE = 0.2
"""Standard uncertainty of a delay found in a closed loop through an averaging meter. (assumed; a simulated loop
stays within it)"""
FEWEST = 100
_MOST_SAMPLES = 100_000


def prewhitened_correlation(cause: Values, effect: Values, lags: int) -> Values:
    """Cross-correlation of two even records after both were filtered by the first one's autoregression.

    Args:
        cause: the input. Shape (samples,)
        effect: the output. Shape (samples,)
        lags: highest lag; element k answers "effect k samples after cause". Shape of result (lags + 1,)

    References:
        Box & Jenkins (1976), Time Series Analysis, chapter 11: a raw cross-correlation carries the input's own
        memory and peaks at the wrong lag.
    """
    coefficients, _ = best_autoregression(cause)
    taps = np.concatenate(([1.0], -coefficients))
    x = np.convolve(cause - cause.mean(), taps, mode="valid")
    y = np.convolve(effect - effect.mean(), taps, mode="valid")
    scale = sqrt(float(x @ x) * float(y @ y))
    if scale <= 0.0:
        return np.zeros(lags + 1)
    return np.array([float(x[: x.size - k] @ y[k:]) for k in range(lags + 1)]) / scale


def first_significant_lag(correlation: Values, samples: int, sign: int) -> int | None:
    """Where the run of significant lags that holds the strongest one begins.

    Args:
        correlation: as from `prewhitened_correlation`.
        samples: in the record.
        sign: of the effect wanted: 1, -1, or 0 for either.
    """
    strength = np.abs(correlation) if sign == 0 else sign * correlation
    least = SIGNIFICANT / sqrt(samples)
    lag = int(np.argmax(strength))
    if strength[lag] <= least:
        return None
    while lag > 0 and strength[lag - 1] > least:
        lag -= 1
    return lag


def loop_delay(
    time: Values, duty: Values, sensor: Values, period: float, *, lean_when_high: bool
) -> Estimate | None:
    """Delay from the command to the sensor's answer. [s]

    In a closed loop the command also follows the sensor, so the whole correlation cannot be believed. Two facts
    single out the answer: it has the sign of fuel (more lean command, less voltage), and a loop of ramp and jump
    has a period of 2 to 4 delays [1]. Within those lags the strongest prewhitened correlation is taken.
    A meter that averages the command makes the delay look shorter by up to half of its averaging time.

    Args:
        time: [s]
        duty: command. Shape (rows,)
        sensor: [V]
        period: of the limit cycle. [s]
        lean_when_high: whether a high duty makes the mixture lean.

    Returns:
        None when no lag stands out, or when the samples are too rare.

    References:
        [1] Closed form for ramp 2K and jump 2P about a relay with delay: T = max(2 theta, 4 theta - 4 P/K).
    """
    good = np.isfinite(duty) & np.isfinite(sensor)
    if np.count_nonzero(good) < FEWEST:
        return None
    t = time[good]
    step = max(float(np.median(np.diff(t))), float(t[-1] - t[0]) / _MOST_SAMPLES)
    even = np.arange(t[0], t[-1], step)
    first, last = max(1, round(SHORTEST_SHARE * period / step)), round(LONGEST_SHARE * period / step)
    if last - first < 2 or last > even.size // 4:
        return None
    cause, effect = np.interp(even, t, duty[good]), np.interp(even, t, sensor[good])
    correlation = prewhitened_correlation(cause, effect, last) * (-1.0 if lean_when_high else 1.0)
    lag = first + int(np.argmax(correlation[first:]))
    if correlation[lag] < STANDS_OUT / sqrt(even.size):
        return None
    delay = lag * step
    return Estimate(delay, sqrt(step**2 + (DOUBT_SHARE * delay) ** 2), even.size)
