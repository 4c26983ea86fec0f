"""Where the sampler draws a set's sizes: evenly through the prior, and from normals cut off at the prior's limits.

A cause with two sides has a normal of its own on each, so that no side's belief is lost to the other's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr, ndtri

from dwellwright.diagnosis.hypotheses import Range
from dwellwright.diagnosis.readings import Float

EVEN_SHARE = 0.15
"""Share of the draws that go evenly through the prior, so that weights stay bounded. [-]"""
FAINT = 1e-3
"""A side with less of the weight than this gets no normal. [-]"""
FINEST = 0.004
"""A normal is never narrower than this share of the prior's range. [-]"""
LOG_ROOT_TAU = 0.9189385332046727


@dataclass(frozen=True)
class CutNormal:
    """A normal cut off at a box, drawn one coordinate after the other (each given those before it).

    Args:
        share: of the draws. [-]
        middle: before the cut, shape (causes,). [SI or turns]
        factor: lower Cholesky factor of its covariance, shape (causes, causes).
        low, high: the box, shape (causes,). [SI or turns]
    """

    share: float
    middle: Float
    factor: Float
    low: Float
    high: Float

    def draws(self, uniform: Float) -> Float:
        """Points from even numbers in (0, 1), shape (n, causes)."""
        standard = np.empty_like(uniform)
        for i in range(uniform.shape[1]):
            a, b = self._limits(i, standard)
            flipped = a > 0.0  # in the upper tail the lower one's numbers are exact
            bottom, top = ndtr(np.where(flipped, -b, a)), ndtr(np.where(flipped, -a, b))
            z = ndtri(np.clip(bottom + uniform[:, i] * (top - bottom), 1e-300, 1.0 - 1e-16))
            standard[:, i] = np.clip(np.where(flipped, -z, z), a, b)
        return np.clip(self.middle + standard @ self.factor.T, self.low, self.high)

    def log_density(self, points: Float) -> Float:
        """Log density at points, minus infinity outside the box."""
        standard = np.empty_like(points)
        density = np.zeros(len(points))
        for i in range(points.shape[1]):
            a, b = self._limits(i, standard)
            center = self.middle[i] + standard[:, :i] @ self.factor[i, :i]
            standard[:, i] = (points[:, i] - center) / self.factor[i, i]
            density += -0.5 * standard[:, i] ** 2 - LOG_ROOT_TAU - np.log(self.factor[i, i]) - _log_mass(a, b)
        inside = np.all((points >= self.low) & (points <= self.high), axis=1)
        return np.where(inside, density, -np.inf)

    def _limits(self, i: int, standard: Float) -> tuple[Float, Float]:
        """The box's limits in standard coordinates of column i, given the columns before it."""
        center = self.middle[i] + standard[:, :i] @ self.factor[i, :i]
        return (self.low[i] - center) / self.factor[i, i], (self.high[i] - center) / self.factor[i, i]


def _log_mass(a: Float, b: Float) -> Float:
    """Log of the normal's mass between a and b."""
    flipped = a > 0.0
    top, bottom = log_ndtr(np.where(flipped, -a, b)), log_ndtr(np.where(flipped, -b, a))
    mass: Float = top + np.log1p(-np.exp(np.minimum(bottom - top, -1e-15)))
    return mass


@dataclass(frozen=True)
class Proposal:
    """A mixture of the even prior and cut normals.

    Args:
        ranges: of the causes.
        even: share of the draws that go through the prior. [-]
        normals: the others, one for each combination of sides that carries weight.
    """

    ranges: tuple[Range, ...]
    even: float
    normals: tuple[CutNormal, ...]

    def draws(self, uniform: Float) -> Float:
        """Sizes, each component in its share. [SI or turns]

        Args:
            uniform: even numbers in (0, 1), shape (n, causes).
        """
        count = len(uniform)
        shares = np.array([self.even, *(one.share for one in self.normals)])
        ends = np.round(count * np.cumsum(shares) / np.sum(shares)).astype(int)
        parts = [
            np.column_stack([one.spread_evenly(uniform[: ends[0], i]) for i, one in enumerate(self.ranges)])
        ]
        for normal, start, stop in zip(self.normals, ends[:-1], ends[1:], strict=True):
            parts.append(normal.draws(uniform[start:stop]))
        return np.vstack(parts)

    @property
    def log_prior(self) -> float:
        """Log of the prior's density, the same all over its support."""
        return sum(one.log_density for one in self.ranges)

    def log_density(self, points: Float) -> Float:
        """Log density of the mixture at points within the prior."""
        terms = [np.full(len(points), self.log_prior + np.log(self.even))]
        terms += [one.log_density(points) + np.log(one.share) for one in self.normals]
        density: Float = np.logaddexp.reduce(terms)
        return density


def even_proposal(ranges: tuple[Range, ...]) -> Proposal:
    """Draws evenly through the prior."""
    return Proposal(ranges, 1.0, ())


def fitted_proposal(ranges: tuple[Range, ...], points: Float, weights: Float, widening: float) -> Proposal:
    """Cut normals around weighted draws, one for each combination of sides.

    Args:
        ranges: of the causes.
        points: draws, shape (n, causes). [SI or turns]
        weights: of the draws, summing to one.
        widening: of the standard deviations.
    """
    pattern = (points < 0.0) @ (1 << np.arange(points.shape[1]))
    found = []
    for side in np.unique(pattern):
        chosen = pattern == side
        share = float(np.sum(weights[chosen]))
        if share > FAINT:
            found.append(_normal(ranges, points[chosen], weights[chosen] / share, share, widening))
    total = sum(one.share for one in found) / (1.0 - EVEN_SHARE)
    normals = tuple(CutNormal(one.share / total, one.middle, one.factor, one.low, one.high) for one in found)
    return Proposal(ranges, EVEN_SHARE, normals)


def _normal(
    ranges: tuple[Range, ...], points: Float, weights: Float, share: float, widening: float
) -> CutNormal:
    middle = weights @ points
    off = points - middle
    covariance = widening**2 * (off.T * weights) @ off
    width = np.array([one.most - one.least for one in ranges])
    effective = 1.0 / float(np.sum(weights**2))
    # few effective draws say little of the spread: a share of the whole range stands in until there are more
    floor = (FINEST + 0.15 / (1.0 + effective)) * width
    covariance[np.diag_indices(len(ranges))] += floor**2
    low, high = np.array([one.side(bool(points[0, i] < 0.0)) for i, one in enumerate(ranges)]).T
    factor = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)
    return CutNormal(share, middle, factor, low, high)
