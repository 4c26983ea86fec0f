"""Mean duty with its interval, pulse rate, pattern and the sliding mean."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dwellwright.evidence.waveform.edges import Beat, Train, beat, beats_in, held_time, whole_periods
from dwellwright.evidence.waveform.types import Estimate, Floats, Pattern, Pulses

VARYING_RANGE = 0.02
"""Pulse duties spread wider (5th to 95th percentile) mean that the computer is working (assumed)."""
COVERAGE = 2.0
"""Standard uncertainties to each end of an interval: about 95 %."""
CLOCK_DOUBT = 1e-4
"""Standard uncertainty of a recorder's clock (common practice, no source). [-]"""
EDGE_DOUBT = 0.3
"""Standard uncertainty common to all edges of a recording. [samples]"""
FEW_SAMPLES, FEW_DOUBT = 32, 1.5
"""A level that lasts fewer samples than this leaves the spike and the next edge run together: its length is in doubt
by so many samples (assumed). [samples]"""
CUT_SHARE = 0.41
"""The pulses cut at both ends: one period, rectangular, hence 1/sqrt(6), times duty and its rest. [-]"""
MEMORY_TIME = 4.0
"""The loop forgets itself within this; correlations of pulse duties are summed up to it. [s]"""
SLIDING_TIME = 1.0
"""Width of the sliding window. [s]"""
LONG_GAP = 1.0
"""A stretch without pulses at least this long is worth a sentence. [s]"""


@dataclass(frozen=True)
class Reading:
    """One polarity's reading of the pulses."""

    duty: Estimate
    pulses: Pulses
    clock: Beat
    pattern: Pattern
    duty_range: tuple[float, float]
    missing: int
    double: int
    gaps: Floats
    left_out: float
    unreadable: int
    placed: int
    cramped: bool


def reading(train: Train, sample_rate: float, edge_noise: float) -> Reading | None:
    """Everything about duty for one polarity, None with fewer than two whole pulses.

    Args:
        train: the pulses.
        sample_rate: [Hz]
        edge_noise: standard deviation of a single edge's time. [samples]
    """
    if len(train.on) < 3:
        return None
    clock = beat(train)
    start, period, energized = whole_periods(train, clock)
    if len(start) < 2:
        return None
    duty = energized / period
    beats = beats_in(period, clock)
    low, high = np.percentile(duty, [5, 95])
    pattern = Pattern.VARYING if high - low > VARYING_RANGE else Pattern.FIXED
    on_time, covered, left_out = held_time(train, clock)
    if pattern is Pattern.FIXED:
        on_time, covered = float(energized.sum()), float(period.sum())
    cramped = (
        min(float(np.median(energized)), float(np.median(period - energized))) * sample_rate < FEW_SAMPLES
    )
    guess = train.placed * train.placed_spread / covered + cramped * FEW_DOUBT / sample_rate / clock.period
    edge = np.hypot(EDGE_DOUBT, edge_noise * np.sqrt(2 / len(duty))) / sample_rate / clock.period
    mean = on_time / covered
    cut = CUT_SHARE * mean * (1 - mean) * clock.period / covered
    doubt = float(np.sqrt(edge**2 + guess**2 + cut**2 + _sampling_doubt(duty, clock.period) ** 2))
    return Reading(
        estimate(mean, doubt, 0.0, 1.0),
        Pulses(start, period, energized),
        clock,
        pattern,
        (float(low), float(high)),
        int(np.maximum(beats - 1, 0).sum()),
        int((beats == 0).sum()),
        np.stack([start, period])[:, period > max(LONG_GAP, 1.5 * clock.period)],
        left_out,
        len(train.orphans),
        train.placed,
        cramped,
    )


def mirrored(read: Reading) -> Reading:
    """The same pulses if the other level is the energized one."""
    duty = read.duty
    low, high = read.duty_range
    pulses = Pulses(read.pulses.start, read.pulses.period, read.pulses.period - read.pulses.energized)
    return replace(
        read,
        duty=Estimate(1 - duty.value, 1 - duty.high, 1 - duty.low, duty.uncertainty),
        pulses=pulses,
        duty_range=(1 - high, 1 - low),
    )


def estimate(value: float, uncertainty: float, lowest: float = -np.inf, highest: float = np.inf) -> Estimate:
    """A value with its 95 % interval, kept within what is possible."""
    half = COVERAGE * uncertainty
    return Estimate(value, max(lowest, value - half), min(highest, value + half), uncertainty)


def _sampling_doubt(duty: Floats, period: float) -> float:
    """Standard uncertainty of the mean of a correlated series, by summed tapered autocovariances. [-]

    References:
        Newey and West 1987, Econometrica 55, 703-708, equation 5.
    """
    n = len(duty)
    deviation = duty - duty.mean()
    lags = int(min(n // 4, max(1, MEMORY_TIME / period)))
    padded = 1 << (n + lags).bit_length()
    spectrum = np.abs(np.fft.rfft(deviation, padded)) ** 2
    covariance = np.fft.irfft(spectrum, padded)[: lags + 1] / n
    taper = 2 * (1 - np.arange(lags + 1) / (lags + 1))
    total = float(covariance @ taper) - float(covariance[0])
    return float(np.sqrt(max(total, float(covariance[0]) / n, 0.0) / n))


def pulse_rate(train: Train, clock: Beat, sample_rate: float) -> Estimate:
    """Pulses per second; the recorder's clock is part of the doubt. [Hz]"""
    rate = 1 / clock.period
    count = max(1, len(train.on) - 1)
    timing = np.hypot(clock.jitter, EDGE_DOUBT / sample_rate) / clock.period / count
    return estimate(rate, float(rate * np.hypot(timing, CLOCK_DOUBT)), 0.0)


def sliding(pulses: Pulses, width: float = SLIDING_TIME) -> tuple[Floats, Floats]:
    """Middle times [s] and mean duty [-] of a window of `width` seconds moved from pulse to pulse."""
    if not len(pulses):
        return np.zeros(0), np.zeros(0)
    middle = pulses.start + pulses.period / 2
    first = np.searchsorted(middle, middle - width / 2)
    last = np.searchsorted(middle, middle + width / 2, side="right")
    energized = np.concatenate([[0.0], np.cumsum(pulses.energized)])
    period = np.concatenate([[0.0], np.cumsum(pulses.period)])
    return middle, (energized[last] - energized[first]) / (period[last] - period[first])
