"""In, out, or cannot tell: a reading against its figure, its own doubt counted against the claim."""

from __future__ import annotations

from dataclasses import dataclass

from dwellwright.catalogue.steps import Judge
from dwellwright.evidence.chance import normal_share
from dwellwright.evidence.gauge.judgement import DEFAULT_CONFIDENCE, conforming_probability
from dwellwright.evidence.gauge.judgement import Verdict as Verdict
from dwellwright.evidence.observation import Observation
from dwellwright.procedure.figure import Figure

COVERAGE_FACTOR = 2.0
"""Standard uncertainties on each side of a reading in the interval shown (about 95 %)."""


@dataclass(frozen=True)
class Judgement:
    """A verdict, what it rests on, and why it is not plainer.

    Args:
        verdict: in, out, cannot tell, not read.
        interval: lowest and highest value the reading leaves open, about 95 %. [SI]
        conforming: probability that the true value is within the limits; None without reading or figure.
        reason: one sentence, empty when the verdict says it all.
    """

    verdict: Verdict
    interval: tuple[float, float] | None = None
    conforming: float | None = None
    reason: str = ""


def judged(reading: Observation | None, figure: Figure | None) -> Judgement:
    """The verdict on one reading: in or out only where that is 95 % likely, hence a guard band at each limit.

    References:
        ISO 14253-1:2017, decision rules for conformity; JCGM 106:2012 for the probability.
    """
    if reading is None:
        return Judgement(Verdict.NOT_READ)
    interval = reading.interval(COVERAGE_FACTOR)
    if figure is None:
        return Judgement(Verdict.CANNOT_TELL, interval, reason="the sheet gives no figure")
    inside = _conforming(reading, figure)
    if inside >= DEFAULT_CONFIDENCE:
        return Judgement(Verdict.IN, interval, inside)
    if 1 - inside >= DEFAULT_CONFIDENCE:
        return Judgement(Verdict.OUT, interval, inside)
    middle = conforming_probability(0.0, figure.tolerance, reading.uncertainty)
    if figure.judge is Judge.WITHIN and middle < DEFAULT_CONFIDENCE:
        reason = "the reading is too uncertain for this tolerance: use a finer gauge or more repeats"
    else:
        reason = "the reading lies within its own doubt of a limit: repeat it, or move towards the middle"
    return Judgement(Verdict.CANNOT_TELL, interval, inside, reason)


def _conforming(reading: Observation, figure: Figure) -> float:
    """Probability that the true value is within the figure's limits. [-]"""
    deviation = reading.value - figure.value
    if figure.judge is Judge.WITHIN:
        return conforming_probability(deviation, figure.tolerance, reading.uncertainty)
    to_spare = figure.tolerance + (deviation if figure.judge is Judge.AT_LEAST else -deviation)
    if reading.uncertainty == 0:
        return float(to_spare >= 0)
    return normal_share(to_spare / reading.uncertainty)
