"""Is a gauge drifting: checks against a master kept in order of time, watched by two control charts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

DEFAULT_SLACK, DEFAULT_DECISION = 0.5, 4.77
"""In standard deviations: a shift of one is caught in about 10 checks, one false alarm in about 370.
Montgomery, Introduction to Statistical Quality Control, chapter 9, from memory."""


@dataclass(frozen=True)
class DriftChart:
    """A control chart.

    Args:
        upper: statistic watched on the high side, one for each check.
        lower: the same on the low side.
        upper_limit: alarm above this.
        lower_limit: alarm below this (cumulative sums: alarm when `lower` rises above it).
        first_alarm: position of the first check that alarms, counting from 1; None if none does.
    """

    upper: tuple[float, ...]
    lower: tuple[float, ...]
    upper_limit: float
    lower_limit: float
    first_alarm: int | None


def cumulative_sums(checks: Sequence[float], target: float, slack: float, decision: float) -> DriftChart:
    """Two one-sided cumulative sums: quick to see a small lasting shift. [unit of the checks]

    Args:
        checks: readings of the master, in order of time.
        target: the master's size.
        slack: half the shift worth catching.
        decision: sum at which to alarm.

    Raises:
        ValueError: no checks, negative slack, or decision not positive.

    References:
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.3.

    >>> cumulative_sums([0.0, 0.1, 1.2, 1.1], target=0.0, slack=0.5, decision=1.0).first_alarm
    4
    """
    if not checks or slack < 0 or decision <= 0:
        raise ValueError(f"needs checks, slack >= 0, decision > 0; got {len(checks)}, {slack}, {decision}")
    high = low = 0.0
    upper, lower = [], []
    for check in checks:
        high = max(0.0, high + check - target - slack)
        low = max(0.0, low + target - slack - check)
        upper.append(high)
        lower.append(low)
    alarms = [i for i, (up, down) in enumerate(zip(upper, lower, strict=True), 1) if max(up, down) > decision]
    return DriftChart(tuple(upper), tuple(lower), decision, decision, alarms[0] if alarms else None)


def weighted_average(
    checks: Sequence[float], target: float, deviation: float, weight: float = 0.3, width: float = 3.0
) -> DriftChart:
    """Exponentially weighted moving average with its settled limits. [unit of the checks]

    Args:
        checks: readings of the master, in order of time.
        target: the master's size.
        deviation: standard deviation of one check.
        weight: of the newest check, 0.2 to 0.3 usual. [-]
        width: of the limits in standard deviations of the average. [-]

    Raises:
        ValueError: no checks, or a weight outside 0 to 1.

    References:
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.4.
    """
    if not checks or not 0 < weight <= 1 or deviation <= 0:
        raise ValueError(
            f"needs checks, 0 < weight <= 1, deviation > 0; got {len(checks)}, {weight}, {deviation}"
        )
    average, averages = target, []
    for check in checks:
        average = weight * check + (1 - weight) * average
        averages.append(average)
    half = width * deviation * sqrt(weight / (2 - weight))
    alarms = [i for i, one in enumerate(averages, 1) if abs(one - target) > half]
    track = tuple(averages)
    return DriftChart(track, track, target + half, target - half, alarms[0] if alarms else None)


def gauge_drift(checks: Sequence[float], master: float, repeatability: float) -> DriftChart:
    """Cumulative sums of checks against a master, with the usual settings. [unit of the checks]

    >>> gauge_drift([0.1] * 3 + [2.0] * 5, master=0.0, repeatability=1.0).first_alarm
    7
    """
    return cumulative_sums(checks, master, DEFAULT_SLACK * repeatability, DEFAULT_DECISION * repeatability)
