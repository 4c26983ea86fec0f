"""Posterior over sets of causes and their magnitudes, by importance sampling that adapts once.

Every set of one cause is tried, then pairs that hold a promising cause, then triples of the most promising; each
set's magnitudes are drawn evenly through the prior and around the fit found so far, so no mode is lost to either.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy.special import logsumexp

from dwellwright.diagnosis.hypotheses import Belief, Causes, belief_of
from dwellwright.diagnosis.likelihood import Problem, Scores, scores
from dwellwright.diagnosis.readings import Float

SINGLE_DRAWS, PAIR_DRAWS, TRIPLE_DRAWS, REFINED_DRAWS = 64, 64, 128, 256
PROMISING, TRIPLE_CAUSES, REFINED_SETS = 8, 6, 12
WIDENING = 1.5
"""The fitted normal is made this much wider than the weighted spread, so that its tails cover the posterior's. [-]"""

Members = tuple[int, ...]


@dataclass(frozen=True)
class CauseSet:
    """One set of causes with its weighted draws.

    Args:
        members: positions of the causes.
        magnitudes: draws, shape (draws, members). [SI or turns]
        log_weights: log of likelihood times prior over proposal, shape (draws,).
        log_evidence: log of prior probability times mean weight.
        scores: the likelihood's parts for each draw.
    """

    members: Members
    magnitudes: Float
    log_weights: Float
    log_evidence: float
    scores: Scores

    @property
    def weights(self) -> Float:
        """Normalized weights within the set."""
        shifted: Float = np.exp(self.log_weights - logsumexp(self.log_weights))
        return shifted


@dataclass(frozen=True)
class Posterior:
    """The sets tried and what is believed of each.

    Args:
        causes: causes considered.
        sets: every set with its draws.
        probabilities: of each set, shape (sets,).
    """

    causes: Causes
    sets: tuple[CauseSet, ...]
    probabilities: Float

    def marginal(self, k: int) -> float:
        """Probability that cause k holds."""
        return float(sum(p for p, one in zip(self.probabilities, self.sets, strict=True) if k in one.members))

    def magnitudes(self, k: int) -> tuple[Float, Float]:
        """Pooled draws of cause k's magnitude and their weights (summing to its marginal)."""
        drawn, weights = [], []
        for probability, one in zip(self.probabilities, self.sets, strict=True):
            if k in one.members:
                drawn.append(one.magnitudes[:, one.members.index(k)])
                weights.append(probability * one.weights)
        return np.concatenate(drawn), np.concatenate(weights)

    @property
    def effective_draws(self) -> float:
        """Kish's effective sample size of all draws under the posterior. [-]"""
        square = sum(
            p * p * float(np.sum(one.weights**2))
            for p, one in zip(self.probabilities, self.sets, strict=True)
        )
        return 1.0 / square if square > 0.0 else 0.0


def _uniforms(count: int, size: int, seed: int) -> Float:
    """Low-discrepancy numbers in (0, 1), shape (count, size): a Kronecker sequence with a random start.

    Steps are powers of the root of x**(size + 1) = x + 1, the golden ratio's relatives; Niederreiter, Random Number
    Generation and Quasi-Monte Carlo Methods, 1992, chapter 3, for why irrational steps fill space evenly.
    """
    root = 2.0
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (size + 1))
    steps = root ** -np.arange(1.0, size + 1)
    start = np.random.default_rng(seed).random(size)
    drawn: Float = (start + np.arange(1, count + 1)[:, None] * steps) % 1.0
    return np.clip(drawn, 1e-12, 1.0 - 1e-12)


class Sampler:
    """Draws sets of causes for one problem and keeps what it has learned of each cause's magnitude."""

    def __init__(self, problem: Problem, causes: Causes, seed: int = 1) -> None:
        self.problem, self.causes, self.seed = problem, causes, seed
        self.beliefs = [belief_of(cause) for cause in causes.causes]

    def drawn(self, batch: list[tuple[Members, tuple[Belief, ...], int]]) -> list[CauseSet]:
        """Score many sets in one call of the likelihood: (members, beliefs, draws) each."""
        if not batch:
            return []
        pieces, states = [], []
        for members, beliefs, count in batch:
            numbers = _uniforms(
                count,
                max(2 * len(members), 1),
                self.seed + 7919 * (1 + sum((k + 1) * 31**i for i, k in enumerate(members))),
            )
            magnitudes = np.empty((count, len(members)))
            for column, belief in enumerate(beliefs):
                magnitudes[:, column] = belief.draws(numbers[:, 2 * column], numbers[:, 2 * column + 1])
            pieces.append(magnitudes)
            states.append(self.causes.states(members, magnitudes))
        whole = scores(self.problem, np.vstack(states))
        found, start = [], 0
        for (members, beliefs, count), magnitudes in zip(batch, pieces, strict=True):
            found.append(self._set(members, beliefs, magnitudes, _slice(whole, start, start + count)))
            start += count
        return found

    def _set(
        self, members: Members, beliefs: tuple[Belief, ...], magnitudes: Float, part: Scores
    ) -> CauseSet:
        weights = part.total.copy()
        for column, belief in enumerate(beliefs):
            weights += belief.log_prior(magnitudes[:, column]) - belief.log_proposal(magnitudes[:, column])
        mean = float(logsumexp(weights) - np.log(len(weights)))
        return CauseSet(members, magnitudes, weights, self.causes.log_prior(members) + mean, part)

    def learned(self, one: CauseSet) -> tuple[Belief, ...]:
        """Beliefs fitted to a set's weighted draws, for drawing it again."""
        fitted = []
        for column, k in enumerate(one.members):
            values, weights = one.magnitudes[:, column], one.weights
            middle = float(weights @ values)
            spread = float(np.sqrt(weights @ (values - middle) ** 2))
            least = 0.02 * self.beliefs[k].most
            fitted.append(replace(self.beliefs[k], middle=middle, spread=WIDENING * max(spread, least)))
        return tuple(fitted)


def _slice(whole: Scores, start: int, stop: int) -> Scores:
    parts = {name: part[start:stop] for name, part in whole.parts.items()}
    return Scores(parts, whole.duty[start:stop], whole.steady[start:stop])


def posterior_of(problem: Problem, causes: Causes, seed: int = 1) -> Posterior:
    """Posterior for one car. The same evidence and seed give the same answer."""
    sampler = Sampler(problem, causes, seed)
    every = range(len(causes.names))
    found = sampler.drawn([((), (), 1)] + [((k,), (sampler.beliefs[k],), SINGLE_DRAWS) for k in every])
    for one in found[1:]:
        (sampler.beliefs[one.members[0]],) = sampler.learned(one)
    singles = sorted(found[1:], key=lambda one: -one.log_evidence)
    leading = [one.members[0] for one in singles[:PROMISING]]
    pairs = {tuple(sorted((a, b))) for a in leading for b in every if a != b}
    batch = [
        (m, tuple(sampler.beliefs[k] for k in m), PAIR_DRAWS) for m in sorted(pairs) if causes.together(m)
    ]
    found += sampler.drawn(batch)
    found += sampler.drawn(_triples(sampler, found))
    best = sorted((one for one in found if one.members), key=lambda one: -one.log_evidence)[:REFINED_SETS]
    refined = {
        one.members: one
        for one in sampler.drawn([(b.members, sampler.learned(b), REFINED_DRAWS) for b in best])
    }
    sets = [refined.get(one.members, one) for one in found]
    evidence = np.array([one.log_evidence for one in sets])
    return Posterior(causes, tuple(sets), np.exp(evidence - logsumexp(evidence)))


def _triples(sampler: Sampler, found: list[CauseSet]) -> list[tuple[Members, tuple[Belief, ...], int]]:
    """Triples of the causes that carry most belief so far."""
    evidence = np.array([one.log_evidence for one in found])
    weight = np.exp(evidence - np.max(evidence))
    belief = [sum(w for w, one in zip(weight, found, strict=True) if k in one.members)
              for k in range(len(sampler.causes.names))]  # fmt: skip
    leading = sorted(int(k) for k in np.argsort(belief)[::-1][:TRIPLE_CAUSES])
    return [
        (members, tuple(sampler.beliefs[k] for k in members), TRIPLE_DRAWS)
        for members in combinations(leading, 3)
        if sampler.causes.together(members)
    ]
