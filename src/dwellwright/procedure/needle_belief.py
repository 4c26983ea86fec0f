"""What is known of one car's idle needles: how far a turn moves dwell, and where the mean dwell stands now.

Sensitivity is a grid of values with weights; for each value the unlimited duty (what the loop would ask for
if it had no limits) is one Gaussian. Moves and readings update both exactly but for readings at a limit,
where the truncated Gaussian is replaced by one of the same mean and variance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr

from dwellwright.procedure.needle_task import Craft, Entry

Array = NDArray[np.float64]

VAGUE = 1.0
"""Standard deviation of the unlimited duty before the first reading. [-] Assumed: wider than the scale."""

DEAD_SHARE, REVERSED_SHARE = 0.04, 0.03
"""Prior chance that the needle does nothing, or works the other way. Assumed."""

PLAIN_NODES, REVERSED_NODES = 81, 21
LEAST_RATIO, MOST_RATIO = 0.15, 4.0
"""Sensitivities considered, over the prior mean."""


class Response(IntEnum):
    """How the needle answers."""

    PLAIN = 0
    DEAD = 1
    REVERSED = 2


@dataclass(frozen=True)
class Belief:
    """Weights over sensitivity nodes, and the unlimited duty in each.

    Args:
        sensitivity: duty per turn of all needles together, each node. [1/turn]
        response: kind of each node.
        weight: probability of each node.
        mean: of the unlimited duty in each node. [-]
        variance: of the same. [-]
        facing: direction of each needle's last move, 0 before the first.
        surprise: how far the last reading fell from what was expected, in standard deviations.
        log_forecast: logarithm of the likelihood of the last reading, forecast from all before, but for a constant.
    """

    sensitivity: Array
    response: NDArray[np.int_]
    weight: Array
    mean: Array
    variance: Array
    facing: tuple[int, ...]
    surprise: float = 0.0
    log_forecast: float = 0.0

    def chance(self, response: Response) -> float:
        """Probability of one kind of response."""
        return float(self.weight[self.response == response].sum())

    def slope(self) -> tuple[float, float]:
        """Mean and standard deviation of the sensitivity, a plain response given. [1/turn]"""
        plain = self.response == Response.PLAIN
        weight = self.weight[plain] / max(self.weight[plain].sum(), 1e-300)
        mean = float(weight @ self.sensitivity[plain])
        return mean, float(np.sqrt(max(weight @ (self.sensitivity[plain] - mean) ** 2, 0.0)))

    def inside(self, low: float, high: float) -> float:
        """Probability that the unlimited duty lies between two values."""
        spread = np.sqrt(self.variance)
        return float(self.weight @ (ndtr((high - self.mean) / spread) - ndtr((low - self.mean) / spread)))

    def quantile(self, share: float) -> float:
        """Value below which the unlimited duty lies with that probability."""
        spread = np.sqrt(self.variance)
        low, high = float((self.mean - 8 * spread).min()), float((self.mean + 8 * spread).max())
        for _ in range(50):
            middle = (low + high) / 2
            below = float(self.weight @ ndtr((middle - self.mean) / spread))
            low, high = (middle, high) if below < share else (low, middle)
        return (low + high) / 2


def first_belief(sensitivity: float, spread: float, needles: int) -> Belief:
    """Before any reading.

    Args:
        sensitivity: expected change of duty for one turn out of all needles together; negative where
            richer lowers it. [1/turn]
        spread: its standard deviation between cars. [1/turn]
        needles: how many there are.

    Raises:
        ValueError: no sensitivity, or no spread.
    """
    if sensitivity == 0 or not spread > 0:
        raise ValueError(f"a sensitivity and its spread must not be zero, got {sensitivity} and {spread}")
    plain = np.linspace(LEAST_RATIO, MOST_RATIO, PLAIN_NODES)
    back = -np.linspace(LEAST_RATIO, 2.0, REVERSED_NODES)
    width = spread / abs(sensitivity)
    shares = [np.exp(-0.5 * ((np.abs(ratio) - 1) / width) ** 2) for ratio in (plain, back)]
    weight = np.concatenate([
        (1 - DEAD_SHARE - REVERSED_SHARE) * shares[0] / shares[0].sum(), [DEAD_SHARE],
        REVERSED_SHARE * shares[1] / shares[1].sum(),
    ])  # fmt: skip
    kinds = [Response.PLAIN] * PLAIN_NODES + [Response.DEAD] + [Response.REVERSED] * REVERSED_NODES
    count = len(kinds)
    return Belief(
        sensitivity=sensitivity * np.concatenate([plain, [0.0], back]),
        response=np.array(kinds, dtype=np.int_),
        weight=weight,
        mean=np.full(count, 0.5),
        variance=np.full(count, VAGUE**2),
        facing=(0,) * needles,
    )


def moved(belief: Belief, out: Sequence[float], craft: Craft) -> Belief:
    """After a move, before the reading that follows.

    Raises:
        ValueError: not one number of turns for each needle.
    """
    if not out:
        return replace(belief, variance=belief.variance + craft.drift**2)
    count = len(belief.facing)
    if len(out) != count:
        raise ValueError(f"one number of turns for each of {count} needles is needed, got {len(out)}")
    effective, variance, facing = 0.0, (craft.curvature * sum(out) / count) ** 2, []
    for turns, last in zip(out, belief.facing, strict=True):
        way = int(np.sign(turns))
        lost = {0: 0.5, way: 0.0}.get(last, 1.0) * min(craft.backlash, abs(turns)) if way else 0.0
        doubt = 0.0 if last == way or not way else craft.backlash / 2
        effective += (turns - way * lost) / count
        variance += ((craft.turn_error * turns) ** 2 + doubt**2) / count**2
        facing.append(way or last)
    return replace(
        belief,
        mean=belief.mean + belief.sensitivity * effective,
        variance=belief.variance + belief.sensitivity**2 * variance + craft.drift**2,
        facing=tuple(facing),
    )


def read(belief: Belief, entry: Entry, limits: tuple[float, float]) -> Belief:
    """After a reading; one at a limit says only that the unlimited duty is there or beyond."""
    if entry.duty <= limits[0]:
        return _beyond(belief, limits[0], -1.0, entry.uncertainty)
    if entry.duty >= limits[1]:
        return _beyond(belief, limits[1], +1.0, entry.uncertainty)
    total = belief.variance + entry.uncertainty**2
    innovation = entry.duty - belief.mean
    log_likelihood = -0.5 * (innovation**2 / total + np.log(total))
    weight, log_forecast = _reweighted(belief.weight, log_likelihood)
    gain = belief.variance / total
    typical = float(belief.weight @ belief.mean)
    scatter = float(belief.weight @ (total + (belief.mean - typical) ** 2))
    return replace(
        belief,
        weight=weight,
        mean=belief.mean + gain * innovation,
        variance=belief.variance * (1 - gain),
        surprise=(entry.duty - typical) / scatter**0.5,
        log_forecast=log_forecast,
    )


def _beyond(belief: Belief, limit: float, side: float, uncertainty: float) -> Belief:
    """Reading censored at a limit: Gaussian truncated there, moments kept."""
    total = np.sqrt(belief.variance + uncertainty**2)
    z = side * (belief.mean - limit) / total
    log_chance = log_ndtr(z)
    ratio = np.exp(-0.5 * z**2 - 0.5 * np.log(2 * np.pi) - log_chance)
    gain = belief.variance / total
    variance = belief.variance - gain**2 * ratio * (z + ratio)
    weight, log_forecast = _reweighted(belief.weight, log_chance)
    return replace(
        belief,
        weight=weight,
        mean=belief.mean + side * gain * ratio,
        variance=np.maximum(variance, 1e-12),
        surprise=0.0,
        log_forecast=log_forecast,
    )


def _reweighted(weight: Array, log_likelihood: Array) -> tuple[Array, float]:
    top = float(log_likelihood.max())
    scaled = weight * np.exp(log_likelihood - top)
    total = float(scaled.sum())
    return np.asarray(scaled / total, dtype=np.float64), top + float(np.log(total))
