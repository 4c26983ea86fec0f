"""Means of a recorded channel with an uncertainty that knows neighbouring samples are alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, log, nan, sqrt

import numpy as np

from dwellwright.evidence.trace.trace import Values

MOST_BLOCKS = 4096
LONGEST_MEMORY = 40
"""Most autoregressive terms tried. (assumed)"""
LONGEST_HOLD = 2.0
"""A reading stands for at most so much time; what lies beyond is a gap and weighs nothing. [s] (assumed)"""
REAL_TREND = 3.0
"""A slope of more standard uncertainties than this is real. (assumed)"""


@dataclass(frozen=True)
class Mean:
    """A time mean.

    Args:
        value: the mean.
        uncertainty: its standard uncertainty from the record itself, autocorrelation honoured.
        spread: standard deviation of single readings.
        slope: of a straight line through the record, per second.
        slope_uncertainty: of that.
        samples: readings used.
    """

    value: float
    uncertainty: float
    spread: float
    slope: float
    slope_uncertainty: float
    samples: int


def time_mean(time: Values, values: Values) -> Mean:
    """Time-weighted mean of a channel; blanks are left out.

    The variance of the mean is the spectrum at frequency zero over the length of the record, the spectrum
    from an autoregression whose order is chosen by AIC [1]: it is right for a limit cycle (whose swings
    cancel) as for slow wander (whose swings do not), where counting samples is wrong for both. A straight trend
    is taken out first; if it is real, its own spread is added, for then the mean depends on when it was taken.

    Args:
        time: rising. [s], shape (rows,)
        values: shape (rows,)

    References:
        [1] Heidelberger & Welch (1981), Communications of the ACM 24(4):233-245, for the idea; the
        autoregressive estimate as in Thompson (2010), arXiv:1011.0175.
    """
    good = np.isfinite(values)
    time, values = time[good], values[good]
    if values.size < 3:
        value = float(values.mean()) if values.size else nan
        return Mean(value, nan, nan, nan, nan, int(values.size))
    weights = _weights(time)
    value = float(np.average(values, weights=weights))
    spread = float(np.sqrt(np.average((values - value) ** 2, weights=weights)))
    blocks, centres = _blocks(time, values)
    offsets = centres - centres.mean()
    slope = float(offsets @ (blocks - blocks.mean()) / (offsets @ offsets))
    level = sqrt(spectrum_at_zero(blocks - slope * offsets) / blocks.size)
    lever = float(np.sqrt(np.mean(offsets**2)))
    slope_uncertainty = level / lever
    trend = slope * lever if abs(slope) > REAL_TREND * slope_uncertainty else 0.0
    return Mean(value, sqrt(level**2 + trend**2), spread, slope, slope_uncertainty, int(values.size))


def _weights(time: Values) -> Values:
    steps = np.minimum(np.diff(time), LONGEST_HOLD)
    weights = np.zeros(time.size)
    weights[:-1] += steps / 2
    weights[1:] += steps / 2
    return weights


def _blocks(time: Values, values: Values) -> tuple[Values, Values]:
    """Means of equal groups of neighbours, few enough to analyse quickly, and their mean times."""
    size = max(
        1, ceil(values.size / MOST_BLOCKS), round(values.size * 0.2 / max(float(time[-1] - time[0]), 1e-9))
    )
    size = min(size, max(1, values.size // 20))
    usable = values.size // size * size
    return values[:usable].reshape(-1, size).mean(axis=1), time[:usable].reshape(-1, size).mean(axis=1)


def autocovariance(values: Values, lags: int) -> Values:
    """Biased autocovariance at lags 0 to `lags`. Shape (lags + 1,)"""
    centred = values - values.mean()
    length = 1 << (2 * values.size - 1).bit_length()
    power = np.abs(np.fft.rfft(centred, length)) ** 2
    covariance: Values = np.fft.irfft(power, length)[: lags + 1] / values.size
    return covariance


def _levinson(covariance: Values) -> Iterator[tuple[Values, float]]:
    """Yule-Walker solutions of rising order: coefficients and innovation variance."""
    coefficients, error = np.zeros(0), float(covariance[0])
    for k in range(1, covariance.size):
        reflection = float(covariance[k] - coefficients @ covariance[k - 1 : 0 : -1]) / error
        coefficients = np.append(coefficients - reflection * coefficients[::-1], reflection)
        error *= 1.0 - reflection**2
        if error <= 1e-12 * covariance[0]:
            return
        yield coefficients, error


def best_autoregression(values: Values, longest: int = LONGEST_MEMORY) -> tuple[Values, float]:
    """Coefficients and innovation variance of an autoregression of the order with the least AIC.

    Args:
        values: shape (samples,)
        longest: highest order tried.
    """
    covariance = autocovariance(values, max(0, min(longest, values.size // 4)))
    if covariance[0] <= 1e-30:
        return np.zeros(0), 0.0
    best = (np.zeros(0), float(covariance[0]))
    least = values.size * log(best[1])
    for coefficients, error in _levinson(covariance):
        score = values.size * log(error) + 2.0 * coefficients.size
        if score < least:
            best, least = (coefficients, error), score
    return best


def spectrum_at_zero(values: Values) -> float:
    """Sum of the autocovariance over all lags, by autoregression; `n` times the variance of a mean of `n`."""
    coefficients, error = best_autoregression(values)
    return error / max(1.0 - float(coefficients.sum()), 0.02) ** 2
