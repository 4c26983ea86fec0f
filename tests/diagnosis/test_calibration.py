"""A small version of benchmarks/diagnosis/calibration.py: claims that are too sure or ranks that lean fail here."""

from types import ModuleType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm


@pytest.fixture(scope="module")
def count(calibration: ModuleType) -> Any:
    """Forty drawn cars, diagnosed once."""
    return calibration.counted(40, seed=11)


def spread_of(ranks: NDArray[np.float64]) -> float:
    """Mean square of the normal scores of ranks: 1 where they are even, 4 where intervals are half as wide as true."""
    return float(np.mean(norm.ppf(np.clip(ranks, 1e-3, 1 - 1e-3)) ** 2))


def test_claims_on_forty_drawn_cars_are_as_sure_as_they_sound(count: Any) -> None:
    chances, truths = np.array(count.chances), np.array(count.truths)
    # the number of true causes is a sum of independent yes or no: within three of its standard deviations
    spread = np.sqrt(np.sum(chances * (1 - chances)))
    assert abs(np.sum(chances) - np.sum(truths)) < 3 * spread
    # and so it is among what was said to be likely, where a sampler that is too sure shows first
    likely = chances > 0.25
    off = np.sum(chances[likely]) - np.sum(truths[likely])
    assert abs(off) < 3 * np.sqrt(np.sum(chances[likely] * (1 - chances[likely])))
    assert min(count.draws) >= 1000


def test_sizes_on_forty_drawn_cars_scatter_as_their_intervals_say(count: Any) -> None:
    # closed form: a sum of n squared normal scores is chi-squared, of mean n and variance 2n
    ranks = np.array(count.ranks)
    bound = 3 * np.sqrt(2 / len(ranks))
    assert abs(spread_of(ranks) - 1) < bound
    # the bound has teeth: with intervals half as wide every score doubles
    assert spread_of(norm.cdf(2 * norm.ppf(ranks))) - 1 > bound
    even = (np.arange(len(ranks)) + 0.5) / len(ranks)
    # Kolmogorov's 0.1 % point
    assert np.max(np.abs(np.sort(ranks) - even)) < 1.95 / np.sqrt(len(ranks))
