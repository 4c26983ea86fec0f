"""The diagnosis as it is told: causes with probability and size, what speaks for them, what to test next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dwellwright.catalogue.causes import Cause, shipped_causes
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.diagnosis.decision import PullDecision, pull_decision
from dwellwright.diagnosis.doubts import doubts, look_alikes
from dwellwright.diagnosis.hypotheses import selected
from dwellwright.diagnosis.likelihood import Problem, problem_of
from dwellwright.diagnosis.next_test import NextTest, next_tests
from dwellwright.diagnosis.posterior import Posterior, posterior_of
from dwellwright.diagnosis.readings import REGIMES, gathered
from dwellwright.diagnosis.scatter import Scatter
from dwellwright.diagnosis.support import Support, support
from dwellwright.evidence.observation import Observation, Regime

INTERVAL = (0.1, 0.5, 0.9)
"""Quantiles told of a magnitude: the middle and an 80 % interval. [-]"""


@dataclass(frozen=True)
class CauseBelief:
    """What is believed of one cause.

    Args:
        identifier: stable name.
        cause: the catalogue's entry.
        probability: that it holds, alone or with others. [-]
        magnitude, low, high: median and 80 % interval of its size if it holds, signed, in the cause's unit.
        support: what each piece of evidence says for it (positive) or against it, in bits against "healthy".
    """

    identifier: str
    cause: Cause
    probability: float
    magnitude: float
    low: float
    high: float
    support: tuple[Support, ...]

    @property
    def title(self) -> str:
        """In the trade's words."""
        return self.cause.title

    @property
    def unit(self) -> str:
        """Of the magnitude and its interval."""
        return self.cause.unit

    @property
    def meaning(self) -> str:
        """What the magnitude's sign means."""
        return self.cause.positive if self.magnitude >= 0 or not self.cause.negative else self.cause.negative


@dataclass(frozen=True)
class RegimePrediction:
    """Duty seen in a regime beside what is expected of a healthy car and of the best explanation. [-]"""

    regime: Regime
    observed: float | None
    healthy: float
    explained: float


@dataclass(frozen=True)
class Diagnosis:
    """Everything a diagnosis says.

    Args:
        causes: by probability, the likeliest first.
        healthy_probability: that no fault holds (conditions such as height or fuel may). [-]
        predictions: duty by regime.
        next_tests: by information per minute.
        look_alikes: groups of causes that this evidence cannot tell apart, as identifiers.
        warnings: doubts, contradictions, what is missing.
        best_set: identifiers of the likeliest set of causes; empty for none.
        best_probability: of that set. [-]
        observations: how many readings went in.
        effective_draws: effective sample size of the posterior. [-]
        pull: whether to take the unit off, with the minutes each way.
    """

    causes: tuple[CauseBelief, ...]
    healthy_probability: float
    predictions: tuple[RegimePrediction, ...]
    next_tests: tuple[NextTest, ...]
    look_alikes: tuple[tuple[str, ...], ...]
    warnings: tuple[str, ...]
    best_set: tuple[str, ...]
    best_probability: float
    observations: int
    effective_draws: float
    pull: PullDecision


def diagnose(
    observations: Sequence[Observation],
    sheet: SpecSheet,
    priors: dict[str, float] | None = None,
    seed: int = 1,
    scatter: Scatter | None = None,
) -> Diagnosis:
    """Which causes explain the observations on a unit that this sheet describes.

    Args:
        observations: whatever there is; none at all gives the priors back.
        sheet: of the unit.
        priors: a shop's own shares of arriving cars, by cause; the catalogue's where it has none.
        seed: of the sampler; the same seed and evidence give the same diagnosis.
        scatter: a shop's own spread of healthy cars and doubt of the model; the catalogue's where None.
    """
    problem = problem_of(sheet, gathered(observations), scatter)
    causes = selected(shipped_causes(), priors)
    posterior = posterior_of(problem, causes, seed)
    beliefs = [_belief(k, problem, posterior) for k in range(len(causes.names))]
    best = int(np.argmax(posterior.probabilities))
    members = posterior.sets[best].members
    return Diagnosis(
        causes=tuple(sorted(beliefs, key=lambda one: -one.probability)),
        healthy_probability=posterior.without("fault"),
        predictions=_predictions(problem, posterior, best),
        next_tests=next_tests(problem, posterior),
        look_alikes=look_alikes(posterior),
        warnings=doubts(problem, posterior, best),
        best_set=tuple(causes.names[k] for k in members),
        best_probability=float(posterior.probabilities[best]),
        observations=len(observations),
        effective_draws=posterior.effective_draws,
        pull=pull_decision(posterior),
    )


def _belief(k: int, problem: Problem, posterior: Posterior) -> CauseBelief:
    cause = posterior.causes.causes[k]
    values, weights = posterior.magnitudes(k)
    order = np.argsort(values)
    climbing = np.cumsum(weights[order])
    at = np.searchsorted(climbing, np.array(INTERVAL) * climbing[-1])
    low, middle, high = (cause.shown(float(values[order][min(i, len(order) - 1)])) for i in at)
    probability = posterior.marginal(k)
    told = support(k, problem, posterior) if probability > 0.02 else ()
    return CauseBelief(posterior.causes.names[k], cause, probability, middle, low, high, told)


def _predictions(problem: Problem, posterior: Posterior, best: int) -> tuple[RegimePrediction, ...]:
    healthy, chosen = posterior.sets[0].scores.duty[0], posterior.sets[best]
    explained = chosen.weights @ chosen.scores.duty
    return tuple(
        RegimePrediction(
            regime,
            float(problem.duty[k]) if np.isfinite(problem.duty[k]) else None,
            float(healthy[k]),
            float(explained[k]),
        )
        for k, regime in enumerate(REGIMES)
    )
