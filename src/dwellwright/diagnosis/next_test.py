"""Which test to make next: information on which causes hold, per minute."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dwellwright.carburetor.state import Field
from dwellwright.catalogue.shop_tests import ShopTest, shipped_tests
from dwellwright.diagnosis.likelihood import Problem
from dwellwright.diagnosis.posterior import CauseSet, Posterior
from dwellwright.diagnosis.readings import Float
from dwellwright.diagnosis.settings_model import running_level, travel_change

DRAWS_PER_SET = 24
"""Cars taken from each set of causes to foresee a test's result."""
RESULT_POINTS = 160
"""Points at which the foreseen results' densities are compared."""
SMALLEST_SET = 2e-3
"""Sets less probable than this are left out of the forecast; they cannot carry much information. [-]"""
WORTH_TELLING = 1e-4
"""A test that gives less than this many bits a minute is not worth naming. [bit/min]"""


@dataclass(frozen=True)
class NextTest:
    """A test with what it is expected to tell.

    Args:
        test: the test.
        information: expected information on which causes hold. [bit]
        per_minute: the same over the test's minutes. [bit/min]
        why: one sentence with numbers.
    """

    test: ShopTest
    information: float
    per_minute: float
    why: str


def next_tests(problem: Problem, posterior: Posterior) -> tuple[NextTest, ...]:
    """Tests not yet made, best information per minute first."""
    done = {measured.value for measured, _ in problem.evidence.table}
    sets = [
        (p, one) for p, one in zip(posterior.probabilities, posterior.sets, strict=True) if p > SMALLEST_SET
    ]
    share = np.array([p for p, _ in sets])
    share /= np.sum(share)
    cars = [_cars(posterior, one) for _, one in sets]
    found = []
    for test in shipped_tests():
        if test.after in done:
            continue
        results = [_results(test, states, problem) for states, _ in cars]
        sigma = float(np.hypot(test.doubt, _healthy_spread(test, problem)))
        bits = _information(share, results, [weights for _, weights in cars], sigma)
        if bits / test.minutes > WORTH_TELLING:
            found.append(
                NextTest(test, bits, bits / test.minutes, _sentence(test, bits, share, sets, posterior))
            )
    return tuple(sorted(found, key=lambda one: -one.per_minute))


def _cars(posterior: Posterior, one: CauseSet) -> tuple[Float, Float]:
    """The likeliest cars of a set and their weights."""
    order = np.argsort(one.log_weights)[::-1][:DRAWS_PER_SET]
    weights = one.weights[order]
    return posterior.causes.states(one.members, one.magnitudes[order]), weights / np.sum(weights)


def _results(test: ShopTest, states: Float, problem: Problem) -> Float:
    """What the test would read on each car, as a deviation. [SI or turns]"""
    if test.reads == "level":
        return running_level(states, problem.passages, 0.0)
    if test.reads == "travel":
        return travel_change(states, problem.passages, 0.0)
    return states[:, Field[test.reads.upper()]]


def _healthy_spread(test: ShopTest, problem: Problem) -> float:
    """Healthy scatter of what the test reads. [SI or turns]"""
    aliases = {"level": "fuel_level", "needle_left": "needle_both", "travel": "lean_stop"}
    name = aliases.get(test.reads, test.reads)
    names = problem.scatter.names
    return float(problem.scatter.spreads[names.index(name)]) if name in names else 0.0


def _information(share: Float, results: list[Float], weights: list[Float], sigma: float) -> float:
    """Mutual information between the set of causes and the test's result. [bit]"""
    everything = np.concatenate(results)
    at = np.linspace(np.min(everything) - 4 * sigma, np.max(everything) + 4 * sigma, RESULT_POINTS)
    # where results lie far apart a plain grid would miss narrow peaks, so every result gets its own points
    at = np.unique(np.concatenate([at, *(everything + k * sigma for k in (-2, -1, 0, 1, 2))]))
    density = np.array(
        [np.exp(-0.5 * ((at[:, None] - r) / sigma) ** 2) @ w for r, w in zip(results, weights, strict=True)]
    ) / (sigma * np.sqrt(2 * np.pi))
    mixture = share @ density
    ratio = np.log2(np.maximum(density, 1e-300) / np.maximum(mixture, 1e-300))
    return max(float(np.trapezoid(share @ (density * ratio), at)), 0.0)


def _sentence(
    test: ShopTest, bits: float, share: Float, sets: list[tuple[float, CauseSet]], posterior: Posterior
) -> str:
    """Why this test, in one sentence."""
    left = -float(np.sum(share * np.log2(np.maximum(share, 1e-300))))
    names = posterior.causes
    touched = [names.causes[k].title.lower() for k in range(len(names.names))
               if test.reads in names.causes[k].effects and posterior.marginal(k) > 0.01]  # fmt: skip
    about = f" on {', '.join(touched)}" if touched else ""
    return (
        f"{test.minutes:g} min buy {bits:.2f} of the {left:.2f} bits still open{about}, "
        f"{bits / test.minutes:.3f} bit a minute."
    )
