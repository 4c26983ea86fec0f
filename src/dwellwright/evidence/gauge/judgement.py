"""A reading against its tolerance, given its doubt: in, out, or cannot tell; and repeats that stand out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf, sqrt

from scipy.special import ndtr, ndtri, stdtr, stdtrit

from dwellwright.catalogue.instruments import Instrument
from dwellwright.evidence.gauge.corrected import Correction
from dwellwright.evidence.gauge.observe import budget_of, reading_instrument
from dwellwright.evidence.gauge.sheet import GaugeReading, GaugeSheet

DEFAULT_CONFIDENCE = 0.95
"""Probability asked for before saying in or out (default of ISO 14253-1:2017, from memory)."""


class Verdict(StrEnum):
    """What can be said of a reading against its tolerance."""

    IN = "in"
    OUT = "out"
    CANNOT_TELL = "cannot tell"
    NOT_READ = "not read"


@dataclass(frozen=True)
class Judgement:
    """A reading against its tolerance.

    Args:
        verdict: in or out only if that is likely enough.
        conforming: probability that the true value is inside the tolerance.
        guard_band: how far inside the limit a reading must lie to be in. [unit of the reading]
        deviation: reading minus specification. [unit of the reading]
        tolerance: half width. [unit of the reading]
        uncertainty: standard. [unit of the reading]
    """

    verdict: Verdict
    conforming: float
    guard_band: float
    deviation: float
    tolerance: float
    uncertainty: float


def conforming_probability(
    deviation: float, tolerance: float, uncertainty: float, freedom: float = inf
) -> float:
    """Probability that the true value lies within `tolerance` of the specification. [-]

    References:
        JCGM 106:2012, equation (7.3) for a two-sided interval, with Student's t for few degrees of freedom.
    """
    if uncertainty == 0:
        return 1.0 if abs(deviation) <= tolerance else 0.0
    above, below = (tolerance - deviation) / uncertainty, (-tolerance - deviation) / uncertainty
    if freedom == inf:
        return float(ndtr(above) - ndtr(below))
    return float(stdtr(freedom, above) - stdtr(freedom, below))


def judgement(
    deviation: float,
    tolerance: float,
    uncertainty: float,
    freedom: float = inf,
    confidence: float = DEFAULT_CONFIDENCE,
) -> Judgement:
    """In, out, or cannot tell. [unit of the reading]

    The idea of ISO 14253-1: the doubt of the measurement counts against whoever makes the claim, so being in
    needs the reading inside the tolerance by a guard band and being out needs it outside by one.

    Args:
        deviation: reading minus specification.
        tolerance: half width allowed around the specification.
        uncertainty: standard uncertainty of the reading.
        freedom: its degrees of freedom.
        confidence: probability needed for a verdict. [-]

    Raises:
        ValueError: negative tolerance or uncertainty, or a confidence outside 0.5 to 1.

    >>> judgement(deviation=3.0, tolerance=5.0, uncertainty=1.0).verdict
    <Verdict.IN: 'in'>
    >>> judgement(deviation=4.5, tolerance=5.0, uncertainty=1.0).verdict
    <Verdict.CANNOT_TELL: 'cannot tell'>
    """
    if tolerance < 0 or uncertainty < 0:
        raise ValueError(f"tolerance and uncertainty cannot be negative, got {tolerance} and {uncertainty}")
    if not 0.5 <= confidence < 1:
        raise ValueError(f"confidence must be from 0.5 to below 1, got {confidence}")
    factor = float(stdtrit(freedom, confidence)) if freedom < inf else float(ndtri(confidence))
    inside = conforming_probability(deviation, tolerance, uncertainty, freedom)
    verdict = Verdict.CANNOT_TELL
    if inside >= confidence:
        verdict = Verdict.IN
    elif 1 - inside >= confidence:
        verdict = Verdict.OUT
    return Judgement(verdict, inside, factor * uncertainty, deviation, tolerance, uncertainty)


def reading_judgement(
    reading: GaugeReading, confidence: float = DEFAULT_CONFIDENCE, correction: Correction | None = None
) -> Judgement | None:
    """A reading against its own specification; None if that, its tolerance or its gauge is unknown."""
    budget = budget_of(reading, correction)
    tolerance = reading.tolerance
    if tolerance is None and reading.known and reading.known.tolerance > 0:
        tolerance = reading.known.tolerance
    if budget is None or tolerance is None or reading.wanted is None:
        return None
    return judgement(budget.value - reading.wanted, tolerance, budget.uncertainty, budget.freedom, confidence)


def judgements(
    sheet: GaugeSheet,
    confidence: float = DEFAULT_CONFIDENCE,
    corrections: Mapping[str, Correction] | None = None,
) -> dict[str, Judgement]:
    """Every reading of a sheet that has a specification, judged, by item."""
    own = corrections or {}
    found = {
        name: reading_judgement(reading, confidence, own.get(name))
        for name, reading in sheet.readings.items()
    }
    return {name: one for name, one in found.items() if one is not None}


def standing_out(values: tuple[float, ...], spread: float, freedom: float) -> tuple[float, ...]:
    """For each repeat, the probability that one so far from the others would come by chance. [-]

    Each is compared with the mean of the others, on the spread of the others pooled with what is known
    beforehand; the smallest of n is corrected for having been the one picked. With no prior knowledge this
    is Grubbs' test.

    Args:
        values: repeats.
        spread: standard deviation known beforehand. [same unit]
        freedom: degrees of freedom behind it; 0 if nothing is known.

    References:
        Grubbs 1969, Technometrics 11:1-21; the form by studentized deleted residuals is the same.
    """
    count = len(values)
    if count < 2 or freedom + count - 2 <= 0:
        return (1.0,) * count
    chances = []
    for index, value in enumerate(values):
        others = values[:index] + values[index + 1 :]
        mean = sum(others) / len(others)
        squares = sum((one - mean) ** 2 for one in others) + freedom * spread**2
        total = freedom + len(others) - 1
        scale = sqrt(squares / total) * sqrt(1 + 1 / len(others))
        score = inf if scale == 0 and value != mean else 0.0 if scale == 0 else abs(value - mean) / scale
        chances.append(min(1.0, count * 2 * float(stdtr(total, -score))))
    return tuple(chances)


def outlier_repeats(reading: GaugeReading, level: float = 0.01) -> tuple[int, ...]:
    """Positions of the repeats that hardly belong with the others; they are flagged, never dropped."""
    tool: Instrument | None = reading_instrument(reading)
    spread, freedom = (tool.repeatability, tool.repeatability_freedom) if tool else (0.0, 0.0)
    chances = standing_out(reading.repeats, spread, freedom)
    return tuple(index for index, chance in enumerate(chances) if chance < level)
