"""Gas readings against the limits of an idle emission test: a reference, not a legal test."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import ndtr

from dwellwright.catalogue.idle_limits import IdleLimit
from dwellwright.evidence.gas.air_ratio import GasOptions, gas_uncertainty
from dwellwright.evidence.gas.reading import GasReading

DISCLAIMER = "a reference, not a legal test"
_SLACK = 1e-9
LONGEST_STEP = 2.0
"""Readings farther apart than this make no running mean; assumed. [s]"""


class IdleVerdict(StrEnum):
    """What the readings would come to."""

    WITHIN = "within the limits"
    ABOVE = "above a limit"
    VOID = "void: too diluted"


@dataclass(frozen=True)
class IdleTest:
    """Readings against a limit.

    Args:
        verdict: by the numbers alone.
        hc: hydrocarbon that was compared. [-]
        co: carbon monoxide that was compared. [-]
        within: probability that both true values are within, given the analyzer. [-]
        time: when the pair was first within, or the end; None without times. [s]
        averaged: whether the running mean was applied; without times every reading stands for itself.
        limit: what they were compared with.
    """

    verdict: IdleVerdict
    hc: float
    co: float
    within: float
    time: float | None
    averaged: bool
    limit: IdleLimit

    @property
    def words(self) -> str:
        """One line that says what it is and what it is not."""
        how = f", mean over {self.limit.running_mean:.0f} s" if self.averaged else ""
        likely = (
            "over 99%" if self.within > 0.995 else "under 1%" if self.within < 0.005 else f"{self.within:.0%}"
        )
        chance = "" if self.verdict is IdleVerdict.VOID else f", {likely} likely to be within"
        return (
            f"HC {self.hc * 1e6:.0f} ppm (limit {self.limit.hc * 1e6:.0f}), CO {self.co * 100:.2f} % "
            f"(limit {self.limit.co * 100:.1f}){how}: {self.verdict}{chance}; {DISCLAIMER} ({self.limit.source})"
        )


@dataclass(frozen=True)
class _Mean:
    time: float | None
    hc: float
    co: float
    co2: float


def _plain(readings: Sequence[GasReading]) -> list[_Mean]:
    return [_Mean(one.time, one.hc, one.co, one.co2) for one in readings]


def _mean_of(window: Sequence[GasReading], end: float) -> _Mean:
    count = len(window)
    hc, co = sum(one.hc for one in window) / count, sum(one.co for one in window) / count
    return _Mean(end, hc, co, sum(one.co2 for one in window) / count)


def running_means(readings: Sequence[GasReading], length: float) -> list[_Mean]:
    """Means over the last `length` seconds, one for each reading that has so much before it without a gap."""
    timed = sorted(((one.time, one) for one in readings if one.time is not None), key=lambda pair: pair[0])
    times = [time for time, _ in timed]
    means: list[_Mean] = []
    steady_since = times[0] if times else 0.0
    for index, end in enumerate(times):
        if index and end - times[index - 1] > LONGEST_STEP:
            steady_since = end
        first = bisect_left(times, end - length - _SLACK)
        if end - steady_since >= length - _SLACK:
            means.append(_mean_of([one for _, one in timed[first : index + 1]], end))
    return means


def _within(mean: _Mean, limit: IdleLimit, options: GasOptions) -> float:
    hc = float(ndtr((limit.hc - mean.hc) / gas_uncertainty(mean.hc, options.meter.hc)))
    co = float(ndtr((limit.co - mean.co) / gas_uncertainty(mean.co, options.meter.co)))
    return hc * co


def idle_test(readings: Sequence[GasReading], limit: IdleLimit, options: GasOptions) -> IdleTest:
    """Readings of one condition against an idle limit; the first pair within ends it, as the rule does.

    Args:
        readings: of one condition; with times, the running mean is used.
        limit: HC and CO that may not be exceeded, length of the mean, and validity.
        options: for the analyzer's uncertainty.

    Raises:
        ValueError: no readings.

    References:
        40 CFR 85.2203 (limits), 85.2213 (running mean, validity, first pass).
    """
    if not readings:
        raise ValueError("an idle test needs at least one reading")
    means = running_means(readings, limit.running_mean)
    averaged = bool(means)
    pairs = means or _plain(readings)
    valid = [one for one in pairs if one.co + one.co2 >= limit.smallest_carbon_oxides]
    passing = [one for one in valid if one.hc <= limit.hc and one.co <= limit.co]
    chosen = (passing or valid[-1:] or pairs[-1:])[0]
    verdict = IdleVerdict.WITHIN if passing else IdleVerdict.ABOVE if valid else IdleVerdict.VOID
    chance = _within(chosen, limit, options) if valid else 0.0
    return IdleTest(verdict, chosen.hc, chosen.co, chance, chosen.time, averaged, limit)
