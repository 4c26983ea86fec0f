"""Gauge repeatability and reproducibility: how much of the spread of readings is gauge and hands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f, norm

from dwellwright.evidence.gauge.variance import restricted_components

Values = NDArray[np.float64]
POOLING_LEVEL = 0.25
"""An interaction less significant than this is pooled with repeatability (common practice, no source)."""

SMALLEST_CATEGORIES = 5
"""A gauge that parts the parts into fewer groups is not good enough (common practice, no source)."""


@dataclass(frozen=True)
class GaugeStudy:
    """Standard deviations of a study; all in the unit of the readings.

    Args:
        repeatability: same hand, same part, again.
        reproducibility: hand to hand, including how hands differ between parts.
        part: part to part.
        method: how it was computed, in words.
    """

    repeatability: float
    reproducibility: float
    part: float
    method: str

    @property
    def gauge(self) -> float:
        """Repeatability and reproducibility together."""
        return sqrt(self.repeatability**2 + self.reproducibility**2)

    @property
    def total(self) -> float:
        """Spread of all readings."""
        return sqrt(self.gauge**2 + self.part**2)

    @property
    def share(self) -> float:
        """Gauge spread over total spread. [-]"""
        return self.gauge / self.total

    @property
    def categories(self) -> float:
        """Number of groups of parts the gauge can tell apart (1.41 part spreads over the gauge's). [-]"""
        return 1.41 * self.part / self.gauge if self.gauge > 0 else float("inf")

    def tolerance_share(self, tolerance: float) -> float:
        """Six gauge spreads over the whole tolerance width, twice the half width given. [-]"""
        return 6 * self.gauge / (2 * tolerance)

    @property
    def good_enough(self) -> bool:
        """Under 10 % of the spread, or under 30 % with enough categories (common practice, no source)."""
        return self.share < 0.10 or (self.share < 0.30 and self.categories >= SMALLEST_CATEGORIES)


def _checked(readings: Values) -> tuple[int, int, int]:
    if readings.ndim != 3 or min(readings.shape) < 2:
        raise ValueError(f"a study needs 2 parts, 2 hands and 2 trials at least, got shape {readings.shape}")
    if not np.isfinite(readings).all():
        raise ValueError("a balanced study has no blanks; use the restricted likelihood for one that has")
    parts, hands, trials = readings.shape
    return parts, hands, trials


def _mean_squares(readings: Values) -> tuple[float, float, float, float]:
    """Mean squares of parts, hands, interaction and error of a crossed table."""
    parts, hands, trials = readings.shape
    grand, part, hand = readings.mean(), readings.mean(axis=(1, 2)), readings.mean(axis=(0, 2))
    cell = readings.mean(axis=2)
    ms_part = hands * trials * float(((part - grand) ** 2).sum()) / (parts - 1)
    ms_hand = parts * trials * float(((hand - grand) ** 2).sum()) / (hands - 1)
    crossed = cell - part[:, None] - hand[None, :] + grand
    ms_crossed = trials * float((crossed**2).sum()) / ((parts - 1) * (hands - 1))
    ms_error = float(((readings - cell[:, :, None]) ** 2).sum()) / (parts * hands * (trials - 1))
    return ms_part, ms_hand, ms_crossed, ms_error


def analysis_of_variance(readings: Values) -> GaugeStudy:
    """Study of a full crossed table by analysis of variance.

    Args:
        readings: shape (parts, hands, trials).

    Raises:
        ValueError: fewer than two of any, or blanks.

    References:
        Montgomery, Runger 1993, Quality Engineering 6:115-135 and 6:289-305, two-way random model.
    """
    parts, hands, trials = _checked(readings)
    part, hand, crossed, error = _mean_squares(readings)
    freedom = (parts - 1) * (hands - 1), parts * hands * (trials - 1)
    chance = float(f.sf(crossed / error, *freedom)) if error > 0 else 0.0
    if chance > POOLING_LEVEL:
        pooled = (crossed * freedom[0] + error * freedom[1]) / sum(freedom)
        crossed = error = pooled
    interaction = max(0.0, (crossed - error) / trials)
    between_hands = max(0.0, (hand - crossed) / (parts * trials))
    between_parts = max(0.0, (part - crossed) / (hands * trials))
    words = "analysis of variance, interaction " + ("pooled" if chance > POOLING_LEVEL else "kept")
    return GaugeStudy(sqrt(error), sqrt(between_hands + interaction), sqrt(between_parts), words)


def likelihood_study(values: Sequence[float], parts: Sequence[object], hands: Sequence[object]) -> GaugeStudy:
    """Study of readings with blanks or unequal counts, by restricted maximum likelihood.

    Args:
        values: readings.
        parts: the part of each.
        hands: who took each.

    Raises:
        ValueError: as `restricted_components`.
    """
    crossed = [f"{part}\0{hand}" for part, hand in zip(parts, hands, strict=True)]
    found = restricted_components(values, {"part": parts, "hand": hands, "crossed": crossed})
    return GaugeStudy(
        sqrt(found["residual"]),
        sqrt(found["hand"] + found["crossed"]),
        sqrt(found["part"]),
        "restricted maximum likelihood",
    )


def range_moments(count: int) -> tuple[float, float]:
    """Mean and standard deviation of the range of that many standard normal values. [-]

    >>> [round(one, 3) for one in range_moments(3)]
    [1.693, 0.888]
    """
    if count < 2:
        raise ValueError(f"a range needs two values, got {count}")
    grid = np.linspace(-8.0, 8.0, 1201)
    step = float(grid[1] - grid[0])
    below = norm.cdf(grid)
    mean = float((1 - below**count - (1 - below) ** count).sum()) * step
    low, high = below[:, None], below[None, :]
    inner = 1 - high**count - (1 - low) ** count + np.clip(high - low, 0, None) ** count
    square = 2 * float(np.triu(inner, 1).sum() + 0.5 * np.trace(inner)) * step**2
    return mean, sqrt(square - mean**2)


def _spread_of_range(observed: float, count: int) -> float:
    """Standard deviation from one range, unbiased in the variance."""
    mean, deviation = range_moments(count)
    return observed / sqrt(mean**2 + deviation**2)


def average_and_range(readings: Values) -> GaugeStudy:
    """The hand sheet's way, from averages and ranges; agrees with the others unless hands and parts interact.

    Args:
        readings: shape (parts, hands, trials).

    Raises:
        ValueError: fewer than two of any, or blanks.
    """
    parts, hands, trials = _checked(readings)
    within = float((readings.max(axis=2) - readings.min(axis=2)).mean()) / range_moments(trials)[0]
    hand, part = readings.mean(axis=(0, 2)), readings.mean(axis=(1, 2))
    spread = _spread_of_range(float(hand.max() - hand.min()), hands)
    between = max(0.0, spread**2 - within**2 / (parts * trials))
    return GaugeStudy(
        within, sqrt(between), _spread_of_range(float(part.max() - part.min()), parts), "average and range"
    )
