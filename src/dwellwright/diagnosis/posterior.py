"""Posterior over sets of causes and their sizes, by importance sampling.

Each cause alone goes through the model; every pair and the promising triples are tried on an estimate
(`screening`); the sets that carry the belief are then drawn again and again through the model itself, each time from
what the draws before have taught, until as many independent draws as wanted are reached.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from dwellwright.diagnosis.effects import effects_of
from dwellwright.diagnosis.hypotheses import Causes, Range, range_of
from dwellwright.diagnosis.likelihood import Problem, Scores, scores
from dwellwright.diagnosis.proposal import Proposal, even_proposal, fitted_proposal
from dwellwright.diagnosis.readings import Float
from dwellwright.diagnosis.screening import Screened, Screening

SINGLE_DRAWS = 64
FIRST_DRAWS, ROUND_DRAWS, MOST_DRAWS = 1200, 2400, 12000
"""Draws of the first refinement, of each later one at least, and of any one at most."""
ROUNDS = 4
"""Refinements at most."""
WANTED_DRAWS = 1200.0
"""Effective draws at which refinement stops. [-]"""
CARRIED, MOST_REFINED = 2e-3, 80
"""A set with more of the belief in faults than this is drawn through the model; so many sets at most."""
LEAST_DRAWS = 24
"""Draws of any set that is refined."""
FIRST_WIDENING, WIDENING = 1.5, 1.2
"""Normals are made this much wider than the weighted spread, so that their tails cover the posterior's. [-]"""

Members = tuple[int, ...]
Drawing = tuple[Members, Proposal, int]


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

    @cached_property
    def weights(self) -> Float:
        """Normalized weights within the set."""
        shifted: Float = np.exp(self.log_weights - np.logaddexp.reduce(self.log_weights))
        return shifted

    @property
    def effective(self) -> float:
        """Kish's effective sample size within the set. [-]"""
        return 1.0 / float(np.sum(self.weights**2))


@dataclass(frozen=True)
class Posterior:
    """The sets and what is believed of each.

    Args:
        causes: causes considered.
        sets: those drawn through the model: no cause first, then every single cause, then what carries belief.
        probabilities: of each of them, shape (sets,).
        others: positions of the causes of every other set, -1 where it holds fewer, shape (others, 3).
        other_probabilities: of each of those, shape (others,).
        other_effective: effective draws that stand behind each of those, shape (others,).
    """

    causes: Causes
    sets: tuple[CauseSet, ...]
    probabilities: Float
    others: NDArray[np.int64]
    other_probabilities: Float
    other_effective: Float

    def marginal(self, k: int) -> float:
        """Probability that cause k holds."""
        drawn = sum(p for p, one in zip(self.probabilities, self.sets, strict=True) if k in one.members)
        return float(drawn + np.sum(self.other_probabilities[np.any(self.others == k, axis=1)]))

    def magnitudes(self, k: int) -> tuple[Float, Float]:
        """Pooled draws of cause k's magnitude and their weights."""
        drawn, weights = [], []
        for probability, one in zip(self.probabilities, self.sets, strict=True):
            if k in one.members:
                drawn.append(one.magnitudes[:, one.members.index(k)])
                weights.append(max(probability, 1e-300) * one.weights)
        return np.concatenate(drawn), np.concatenate(weights)

    def without(self, kind: str) -> float:
        """Probability that no cause of this kind ("fault", "condition") holds."""
        return self.without_any(np.array([cause.kind == kind for cause in self.causes.causes]))

    def without_any(self, which: NDArray[np.bool_]) -> float:
        """Probability that none of the chosen causes holds."""
        chosen = np.append(which, False)
        drawn = sum(p for p, one in zip(self.probabilities, self.sets, strict=True)
                    if not any(chosen[k] for k in one.members))  # fmt: skip
        return float(drawn + np.sum(self.other_probabilities[~np.any(chosen[self.others], axis=1)]))

    @property
    def effective_draws(self) -> float:
        """Kish's effective sample size of all draws that hold a cause. [-]

        "No cause" has no size to draw and is known without sampling, so it neither adds nor takes.
        """
        shares = np.array([p for p, one in zip(self.probabilities, self.sets, strict=True) if one.members])
        behind = np.array([one.effective for one in self.sets if one.members])
        whole = np.sum(shares) + np.sum(self.other_probabilities)
        square = np.sum(shares**2 / behind) + np.sum(self.other_probabilities**2 / self.other_effective)
        return float(whole**2 / square) if square > 0.0 else 0.0


def even_numbers(count: int, size: int, seed: int) -> Float:
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


def drawn_sets(problem: Problem, causes: Causes, batch: list[Drawing], seed: int) -> list[CauseSet]:
    """Sets drawn through the model, all in one call of it: (members, proposal, draws) each."""
    sizes = [
        proposal.draws(even_numbers(count, len(members), seed + 7919 * (number + 1)))
        if members
        else np.zeros((count, 0))
        for number, (members, proposal, count) in enumerate(batch)
    ]
    whole = scores(
        problem, np.vstack([causes.states(one[0], size) for one, size in zip(batch, sizes, strict=True)])
    )
    found, start = [], 0
    for (members, proposal, count), size in zip(batch, sizes, strict=True):
        part = whole.cut(start, start + count)
        weights = part.total.copy()
        if members:
            weights += proposal.log_prior - proposal.log_density(size)
        mean = float(np.logaddexp.reduce(weights) - np.log(count))
        found.append(CauseSet(members, size, weights, causes.log_prior(members) + mean, part))
        start += count
    return found


def posterior_of(problem: Problem, causes: Causes, seed: int = 1) -> Posterior:
    """Posterior for one car. The same evidence and seed give the same answer."""
    ranges = [range_of(cause) for cause in causes.causes]
    first: list[Drawing] = [((), even_proposal(()), 1)]
    first += [((k,), even_proposal((one,)), SINGLE_DRAWS) for k, one in enumerate(ranges)]
    drawn = drawn_sets(problem, causes, first, seed)
    proposals = [fitted_proposal((ranges[one.members[0]],), one.magnitudes, one.weights, FIRST_WIDENING)
                 for one in drawn[1:]]  # fmt: skip
    screening = Screening(problem, causes, effects_of(problem, causes), proposals, seed)
    singles, pairs = screening.singles(), screening.pairs()
    groups = [singles, pairs, *screening.triples(singles, pairs)]
    found = {one.members: one for one in drawn}
    screened = [one for one in groups[1:] if len(one.members)]
    posterior = _joined(causes, found, screened, screening.log_healthy)
    for number in range(ROUNDS):
        batch = _batch(posterior, screened, ranges, number)
        if not batch:
            break
        found |= {
            one.members: one for one in drawn_sets(problem, causes, batch, seed + 104729 * (number + 1))
        }
        posterior = _joined(causes, found, screened, screening.log_healthy)
        if number > 0 and posterior.effective_draws >= WANTED_DRAWS:
            break
    return posterior


def _joined(
    causes: Causes, found: dict[Members, CauseSet], screened: list[Screened], log_healthy: float
) -> Posterior:
    """Posterior of the sets drawn through the model together with those that were only screened."""
    held = [
        np.pad(one.members, ((0, 0), (0, 3 - one.members.shape[1])), constant_values=-1) for one in screened
    ]
    evidence = [one.log_evidence + log_healthy for one in screened]
    behind = [_effective(one.log_weights) for one in screened]
    members = np.concatenate([np.empty((0, 3), dtype=np.int64), *held])
    other = np.concatenate([np.empty(0), *evidence])
    effective = np.concatenate([np.empty(0), *behind])
    if len(members):
        codes = (members + 1) @ np.array([1, 1000, 1000000])
        known = [sum((k + 1) * 1000**i for i, k in enumerate(m)) for m in found]
        rest = ~np.isin(codes, known)
        members, other, effective = members[rest], other[rest], effective[rest]
    drawn = np.array([one.log_evidence for one in found.values()])
    total = np.logaddexp.reduce(np.concatenate([drawn, other]))
    return Posterior(
        causes, tuple(found.values()), np.exp(drawn - total), members, np.exp(other - total), effective
    )


def _effective(log_weights: Float) -> Float:
    """Kish's effective sample size of each row; 1 where there are no draws."""
    if not log_weights.shape[1]:
        return np.ones(len(log_weights))
    shares = np.exp(log_weights - np.max(log_weights, axis=1, keepdims=True))
    size: Float = np.sum(shares, axis=1) ** 2 / np.sum(shares**2, axis=1)
    return size


@dataclass(frozen=True)
class _Candidate:
    """A set that may be drawn: its belief, the draws it has, and whether the model made them."""

    members: Members
    probability: float
    points: Float
    weights: Float
    modeled: bool

    @property
    def effective(self) -> float:
        return 1.0 / float(np.sum(self.weights**2))

    @property
    def efficiency(self) -> float:
        """Effective draws expected per draw. [-]"""
        return min(max(self.effective / len(self.points), 0.02), 1.0) if self.modeled else 0.4


def _candidates(posterior: Posterior, screened: list[Screened]) -> list[_Candidate]:
    """Sets that carry belief, the most believed first."""
    drawn = [(p, one) for p, one in zip(posterior.probabilities, posterior.sets, strict=True) if one.members]
    whole = sum(p for p, _ in drawn) + float(np.sum(posterior.other_probabilities))
    found = [
        _Candidate(one.members, p / whole, one.magnitudes, one.weights, modeled=True)
        for p, one in drawn
        if p > CARRIED * whole
    ]
    draws = {}
    for group in screened:
        for row in range(len(group.sizes) if group.sizes.shape[1] else 0):
            draws[tuple(group.members[row])] = (group, row)
    for place in np.flatnonzero(posterior.other_probabilities > CARRIED * whole):
        members = tuple(int(k) for k in posterior.others[place] if k >= 0)
        if members in draws:
            group, row = draws[members]
            weights = np.exp(group.log_weights[row] - np.logaddexp.reduce(group.log_weights[row]))
            share = float(posterior.other_probabilities[place]) / whole
            found.append(_Candidate(members, share, group.sizes[row], weights, modeled=False))
    return sorted(found, key=lambda one: -one.probability)[:MOST_REFINED]


def _batch(posterior: Posterior, screened: list[Screened], ranges: list[Range], number: int) -> list[Drawing]:
    """Which sets to draw next, from where and how often: most where belief is large and draws count for little."""
    found = _candidates(posterior, screened)
    need = np.array([one.probability / np.sqrt(one.efficiency) for one in found])
    total = FIRST_DRAWS if number == 0 else max(1.25 * WANTED_DRAWS * np.sum(need) ** 2, ROUND_DRAWS)
    counts = np.maximum(min(total, MOST_DRAWS) * need / np.sum(need), LEAST_DRAWS)
    widening = FIRST_WIDENING if number == 0 else WIDENING
    return [
        (
            one.members,
            fitted_proposal(tuple(ranges[k] for k in one.members), one.points, one.weights, widening),
            int(n),
        )
        for one, n in zip(found, counts, strict=True)
        if not one.modeled or n * max(one.efficiency, 0.3) > one.effective
    ]
