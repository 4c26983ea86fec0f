"""Uncertainty budgets after the Guide to the expression of uncertainty in measurement (JCGM 100:2008)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf, sqrt

from dwellwright.catalogue.instruments import Instrument
from dwellwright.evidence.chance import student_score


class Kind(StrEnum):
    """How a component was evaluated."""

    TYPE_A = "statistics of repeats"
    TYPE_B = "other knowledge"


@dataclass(frozen=True)
class Component:
    """One line of a budget.

    Args:
        name: what it is, in words.
        uncertainty: standard uncertainty in its own unit.
        sensitivity: change of the result for a unit change of this input.
        freedom: degrees of freedom; infinite when the limits are certain.
        kind: statistics or other knowledge.
    """

    name: str
    uncertainty: float
    sensitivity: float = 1.0
    freedom: float = inf
    kind: Kind = Kind.TYPE_B

    @property
    def contribution(self) -> float:
        """Share of this input in the result's standard uncertainty, always positive."""
        return abs(self.sensitivity) * self.uncertainty


@dataclass(frozen=True)
class Budget:
    """A result with all that makes it doubtful.

    References:
        JCGM 100:2008 equation (10) for `uncertainty`, (G.2b) for `freedom`, (6.2.1) for `expanded`.

    >>> parts = (Component("repeats", 3.0, freedom=4), Component("gauge", 4.0))
    >>> budget = Budget(100.0, parts)
    >>> budget.uncertainty, round(budget.freedom, 2)
    (5.0, 30.86)
    """

    value: float
    components: tuple[Component, ...]

    @property
    def uncertainty(self) -> float:
        """Combined standard uncertainty, inputs uncorrelated."""
        return sqrt(sum(part.contribution**2 for part in self.components))

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite."""
        parts = sum((p.contribution**4 / p.freedom for p in self.components if p.contribution > 0), 0.0)
        return float("inf") if parts == 0 else self.uncertainty**4 / parts

    def coverage_factor(self, coverage: float = 0.95) -> float:
        """Half width of the interval in standard uncertainties for that coverage, from Student's t."""
        return student_score(self.freedom, (1 + coverage) / 2)

    def expanded(self, coverage: float = 0.95) -> float:
        """Half width of the interval that holds the value with that probability."""
        return self.coverage_factor(coverage) * self.uncertainty

    @property
    def normal_equivalent(self) -> float:
        """The standard uncertainty of a normal error with the same 95.45 % interval (t as wide as it is)."""
        return self.expanded(0.954499736) / 2


def rectangular(half_width: float) -> float:
    """Standard uncertainty when any error inside the limits is as likely as any other (JCGM 100 4.3.7)."""
    return half_width / sqrt(3)


def triangular(half_width: float) -> float:
    """Standard uncertainty when errors near the middle of the limits are likelier (JCGM 100 4.3.9)."""
    return half_width / sqrt(6)


def resolution(step: float) -> float:
    """Standard uncertainty of reading to the nearest step (JCGM 100 F.2.2.1)."""
    return step / sqrt(12)


def arcsine(half_width: float) -> float:
    """Standard uncertainty of an input that swings sinusoidally between limits (JCGM 100 H.1.3.5)."""
    return half_width / sqrt(2)


def repeats_component(repeats: tuple[float, ...], instrument: Instrument) -> Component:
    """Type A part: this sheet's repeats pooled with what is known of the instrument's repeatability.

    Two or three repeats say little about spread by themselves, so their variance is averaged with the
    instrument's own, each weighted by its degrees of freedom (JCGM 100 4.2.4, pooled variance). The finer
    the repeats disagree beyond that, the wider the result.
    """
    count = len(repeats)
    mean = sum(repeats) / count
    squares = sum((one - mean) ** 2 for one in repeats)
    freedom = instrument.repeatability_freedom + count - 1
    pooled = (instrument.repeatability_freedom * instrument.repeatability**2 + squares) / freedom
    return Component("repeats", sqrt(pooled / count), freedom=freedom, kind=Kind.TYPE_A)


def reading_budget(repeats: tuple[float, ...], instrument: Instrument, method: float = 0.0) -> Budget:
    """Budget of a mean of repeats with one instrument. [the unit of the repeats]

    Args:
        repeats: readings, SI.
        instrument: what they were taken with.
        method: standard uncertainty that the way of measuring adds. [same unit]

    Raises:
        ValueError: there are no repeats.
    """
    if not repeats:
        raise ValueError("a budget needs at least one reading")
    mean = sum(repeats) / len(repeats)
    limit = instrument.limit + instrument.limit_relative * abs(mean)
    parts = [
        repeats_component(repeats, instrument),
        Component("resolution", resolution(instrument.resolution)),
        Component("calibration", rectangular(limit)),
    ]
    if method > 0:
        parts.append(Component("method", method))
    return Budget(mean, tuple(parts))
