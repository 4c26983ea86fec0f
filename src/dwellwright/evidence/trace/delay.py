"""Time from command to sensor, by cross-correlation of prewhitened records."""

from __future__ import annotations

from math import sqrt

import numpy as np

from dwellwright.evidence.trace.averages import best_autoregression
from dwellwright.evidence.trace.cycles import Estimate
from dwellwright.evidence.trace.trace import Values

LONGEST_DELAY = 4.0
"""[s] (check-values: 0.2 to 1.2 s on engines; wide)"""
SIGNIFICANT = 3.0
"""A lag counts beyond so many standard errors 1/sqrt(n). (assumed)"""
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


def loop_delay(time: Values, duty: Values, sensor: Values, *, lean_when_high: bool) -> Estimate | None:
    """Delay from the command to the sensor's answer. [s]

    None when no lag stands out, or when the answer would be at no delay at all: in a closed loop the command
    follows the sensor, and that is then what was seen.
    """
    good = np.isfinite(duty) & np.isfinite(sensor)
    if np.count_nonzero(good) < FEWEST:
        return None
    t = time[good]
    step = float(np.median(np.diff(t)))
    step = max(step, float(t[-1] - t[0]) / _MOST_SAMPLES)
    even = np.arange(t[0], t[-1], step)
    cause, effect = np.interp(even, t, duty[good]), np.interp(even, t, sensor[good])
    lags = min(int(LONGEST_DELAY / step), even.size // 4)
    if lags < 3:
        return None
    correlation = prewhitened_correlation(cause, effect, lags)
    lag = first_significant_lag(correlation, even.size, -1 if lean_when_high else 1)
    if lag is None or lag == 0:
        return None
    return Estimate(lag * step, step, even.size)
