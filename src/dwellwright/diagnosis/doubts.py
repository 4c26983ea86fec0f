"""What makes a diagnosis doubtful: poor fit, contradictions, look-alikes, missing evidence."""

from __future__ import annotations

import numpy as np

from dwellwright.diagnosis.likelihood import Problem
from dwellwright.diagnosis.posterior import Posterior
from dwellwright.diagnosis.readings import REGIMES
from dwellwright.evidence.observation import Measured
from dwellwright.units import dwell_degrees

SUSPECT = 3.5
"""A direct reading further than this from the best explanation, in standard deviations, is suspect, assumed. [-]"""
FAR = 8.0 / 60.0
"""Dwell further than 8 deg from the best explanation means the fit is poor, assumed. [-]"""
ALIKE, CERTAIN = 0.05, 0.95
"""Causes at least this probable are held against the first, unless that is more probable than this, assumed. [-]"""
TOLD_APART = 5.0
"""Evidence that favors one cause over another by a smaller factor than this does not tell them apart, assumed. [-]"""


def look_alikes(posterior: Posterior) -> tuple[tuple[str, ...], ...]:
    """Causes that this evidence cannot tell from the likeliest one, as one group if any.

    What the evidence says is the odds it leaves over the odds before it: two causes of which only the priors differ
    are alike however far those set them apart.
    """
    count = len(posterior.causes.names)
    marginals = [posterior.marginal(k) for k in range(count)]
    rivals = [int(k) for k in np.argsort(marginals)[::-1] if marginals[k] > ALIKE]
    if len(rivals) < 2 or marginals[rivals[0]] > CERTAIN:
        return ()
    first = rivals[0]
    said = {k: _odds(marginals[k]) / _odds(posterior.causes.priors[k]) for k in rivals}
    group = [first]
    for k in rivals[1:]:
        both = sum(
            p
            for p, one in zip(posterior.probabilities, posterior.sets, strict=True)
            if {first, k} <= set(one.members)
        )
        if both < 0.5 * marginals[k] and 1.0 / TOLD_APART < said[k] / said[first] < TOLD_APART:
            group.append(k)
    return (tuple(posterior.causes.names[k] for k in group),) if len(group) > 1 else ()


def _odds(chance: float) -> float:
    return chance / max(1.0 - chance, 1e-12)


def doubts(problem: Problem, posterior: Posterior, best: int) -> tuple[str, ...]:
    """Sentences on what is doubtful."""
    told = (
        list(problem.evidence.refused)
        + _poor_fit(problem, posterior, best)
        + _suspect_readings(problem, posterior, best)
    )
    if len(posterior.sets[best].members) > 1:
        titles = [posterior.causes.causes[k].title.lower() for k in posterior.sets[best].members]
        told.append(
            f"No single cause explains everything; the best explanation is {' and '.join(titles)} together."
        )
    told += _missing(problem)
    return tuple(told)


def _poor_fit(problem: Problem, posterior: Posterior, best: int) -> list[str]:
    chosen = posterior.sets[best]
    expected = chosen.weights @ chosen.scores.duty
    told = []
    for k, regime in enumerate(REGIMES):
        if (
            np.isfinite(problem.duty[k])
            and not problem.open_loop[k]
            and abs(problem.duty[k] - expected[k]) > FAR
        ):
            told.append(
                f"At {regime.value} the dwell of {dwell_degrees(problem.duty[k]):.1f} deg is far from the "
                f"{dwell_degrees(expected[k]):.1f} deg of the best explanation: none of the known causes fits there."
            )
    return told


def _suspect_readings(problem: Problem, posterior: Posterior, best: int) -> list[str]:
    chosen = posterior.sets[best]
    top = int(np.argmax(chosen.log_weights))
    state = posterior.causes.states(chosen.members, chosen.magnitudes[top : top + 1])
    told = []
    for reading in problem.direct:
        gap = reading.deviation - float(reading.predicted(state, problem.passages, 0.0)[0])
        if abs(gap) > SUSPECT * np.hypot(reading.uncertainty, 0.0) and abs(gap) > 2 * _spread(
            reading.measured, problem
        ):
            told.append(
                f"The reading of {reading.measured.value.replace('_', ' ')} ({reading.source}) is "
                f"{abs(gap) / reading.uncertainty:.1f} standard uncertainties from the best explanation: repeat it."
            )
    return told


def _spread(measured: Measured, problem: Problem) -> float:
    names = problem.scatter.names
    return float(problem.scatter.spreads[names.index(measured.value)]) if measured.value in names else 0.0


def _missing(problem: Problem) -> list[str]:
    lacking = [regime.value for k, regime in enumerate(REGIMES) if not np.isfinite(problem.duty[k])]
    told = [f"No dwell was read at {', '.join(lacking)}; what it would tell is missing."] if lacking else []
    if not problem.direct:
        told.append("No gauge or meter reading was given; every setting is judged by the dwell alone.")
    still = [regime.value for k, regime in enumerate(REGIMES) if problem.open_loop[k]]
    if still:
        told.append(
            f"The loop was open at {', '.join(still)}: dwell there is a command and tells nothing of the mixture."
        )
    return told
