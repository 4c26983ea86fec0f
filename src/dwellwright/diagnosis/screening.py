"""Evidence of every set of one, two or three causes, quickly: which sets are worth the model itself.

Singles and pairs are all tried on estimated steady solutions. A triple's evidence follows from its pairs as if the
third cause changed each of the others the same way with and without the rest; where that promises anything the triple
is tried as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from dwellwright.diagnosis.effects import Effects
from dwellwright.diagnosis.hypotheses import EXCLUSIVE, Causes
from dwellwright.diagnosis.likelihood import Problem, scores
from dwellwright.diagnosis.proposal import Proposal
from dwellwright.diagnosis.readings import Float

DRAWS = 40
"""Draws of each cause's size in a screened set."""
TRIPLES_TRIED = 240
"""Triples tried beyond their pairs' word."""

UNTRIED = 3.0
"""A triple not tried has at least this much less evidence than the best set tried, by its place in the order."""

Positions = NDArray[np.int64]


@dataclass(frozen=True)
class Screened:
    """Sets of one size: their causes, log mean likelihood, log evidence, and draws where there are any.

    Args:
        members: shape (sets, causes held).
        log_likelihood: mean over sizes, relative to no cause, shape (sets,).
        log_evidence: with the prior of the set, shape (sets,).
        sizes: draws, shape (sets, DRAWS, causes held); empty where none were made. [SI or turns]
        log_weights: of the draws, shape (sets, DRAWS).
    """

    members: Positions
    log_likelihood: Float
    log_evidence: Float
    sizes: Float
    log_weights: Float


class Screening:
    """Tries sets for one problem with the same few draws of each cause in ever new order."""

    def __init__(
        self, problem: Problem, causes: Causes, effects: Effects, proposals: list[Proposal], seed: int
    ) -> None:
        self.problem, self.causes, self.effects = problem, causes, effects
        self.random = np.random.default_rng(seed)
        count = len(proposals)
        even = (np.arange(DRAWS) + self.random.random((count, DRAWS))) / DRAWS
        even = self.random.permuted(even, axis=1)
        sizes = [one.draws(even[k][:, None]) for k, one in enumerate(proposals)]
        self.sizes = np.array([one[:, 0] for one in sizes])
        self.log_weights = np.array(
            [one.log_prior - one.log_density(size) for one, size in zip(proposals, sizes, strict=True)]
        )
        states = causes.states((), np.zeros((1, 0)))
        self.log_healthy = float(scores(problem, states, effects.base[None]).total[0])

    def tried(self, members: Positions) -> Screened:
        """Evidence of these sets, all of one size."""
        sets, held = members.shape
        if not sets:
            return Screened(
                members, np.zeros(0), np.zeros(0), np.zeros((0, DRAWS, held)), np.zeros((0, DRAWS))
            )
        order = self.random.permuted(np.broadcast_to(np.arange(DRAWS), (sets, held, DRAWS)), axis=2)
        sizes = np.swapaxes(self.sizes[members[:, :, None], order], 1, 2)
        weights = np.sum(self.log_weights[members[:, :, None], order], axis=1)
        flat, who = sizes.reshape(-1, held), np.repeat(members, DRAWS, axis=0)
        found = scores(self.problem, self.causes.mixed_states(who, flat), self.effects.steady(who, flat))
        weights = weights + found.total.reshape(sets, DRAWS)
        mean = np.logaddexp.reduce(weights, axis=1) - np.log(DRAWS) - self.log_healthy
        return Screened(members, mean, mean + self._log_priors(members), sizes, weights)

    def _log_priors(self, members: Positions) -> Float:
        priors = np.array(self.causes.priors)
        odds = np.log(priors) - np.log1p(-priors)
        summed: Float = np.sum(np.log1p(-priors)) + np.sum(odds[members], axis=1)
        return summed

    def singles(self) -> Screened:
        """Every cause alone."""
        return self.tried(np.arange(len(self.causes.names))[:, None])

    def pairs(self) -> Screened:
        """Every pair that can hold together."""
        return self.tried(together(self.causes, 2))

    def triples(self, singles: Screened, pairs: Screened) -> tuple[Screened, Screened]:
        """Triples tried, and the others by their pairs' word alone."""
        members = together(self.causes, 3)
        count = len(self.causes.names)
        table = np.full((count, count), -np.inf)
        table[tuple(pairs.members.T)] = pairs.log_likelihood
        a, b, c = members.T
        alone = singles.log_likelihood
        told = table[a, b] + table[a, c] + table[b, c] - alone[a] - alone[b] - alone[c]
        evidence = told + self._log_priors(members)
        order = np.argsort(-evidence)
        tried = self.tried(members[np.sort(order[:TRIPLES_TRIED])])
        rest = np.sort(order[TRIPLES_TRIED:])
        # what its pairs promise less of than of those tried is never believed more than the best of them
        limit = max(np.max(tried.log_evidence, initial=-np.inf), np.max(pairs.log_evidence, initial=-np.inf))
        evidence = np.minimum(evidence, limit - UNTRIED)
        others = Screened(members[rest], told[rest], evidence[rest],
                          np.zeros((len(rest), 0, 3)), np.zeros((len(rest), 0)))  # fmt: skip
        return tried, others


def together(causes: Causes, held: int) -> Positions:
    """Every so many causes that can hold together, shape (sets, held)."""
    return _together(causes.names, held)


@cache
def _together(names: tuple[str, ...], held: int) -> Positions:
    every = np.array(list(combinations(range(len(names)), held)), dtype=np.int64).reshape(-1, held)
    for pair in EXCLUSIVE:
        if pair <= set(names):
            both = [np.any(every == names.index(name), axis=1) for name in pair]
            every = every[~(both[0] & both[1])]
    return every
