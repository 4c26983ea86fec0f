"""Which test to make next: information on which causes hold, per minute."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import fftconvolve

from dwellwright.catalogue.shop_tests import ShopTest, shipped_tests
from dwellwright.diagnosis.foreseen import doubt, results
from dwellwright.diagnosis.likelihood import Problem
from dwellwright.diagnosis.posterior import CauseSet, Posterior
from dwellwright.diagnosis.readings import Float

DRAWS_PER_SET = 32
"""Cars taken from each set of causes to foresee a test's result."""
POINTS_PER_DOUBT, MOST_POINTS = 3.0, 400
"""Points per standard deviation of a result at which densities are compared, and their number at most."""
SMALLEST_SET = 1e-3
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


@dataclass(frozen=True)
class _Cars:
    """Cars drawn from the believed sets: share of each set, and for each car its set, weight, state and steady."""

    share: Float
    owner: NDArray[np.int64]
    weight: Float
    states: Float
    steady: Float


def next_tests(problem: Problem, posterior: Posterior) -> tuple[NextTest, ...]:
    """Tests not yet made, best information per minute first."""
    done = {(measured.value, regime.value) for measured, regime in problem.evidence.table}
    sets = [
        (p, one) for p, one in zip(posterior.probabilities, posterior.sets, strict=True) if p > SMALLEST_SET
    ]
    if not sets:  # nothing explains the evidence: no forecast is worth its minutes
        return ()
    cars = _cars(posterior, sets)
    left = -float(np.sum(cars.share * np.log2(np.maximum(cars.share, 1e-300))))
    found = []
    for test in shipped_tests():
        if _made(test, done):
            continue
        seen = results(test, problem, cars.states, cars.steady)
        bits = information(cars.share, cars.owner, seen, cars.weight, doubt(test, problem))
        if bits / test.minutes > WORTH_TELLING:
            why = _sentence(test, bits, left, posterior)
            found.append(NextTest(test, bits, bits / test.minutes, why))
    return tuple(sorted(found, key=lambda one: -one.per_minute))


def _made(test: ShopTest, done: set[tuple[str, str]]) -> bool:
    """Whether the evidence holds this test's reading already, in its regime where the test names one."""
    measured, _, regime = test.after.partition("@")
    if test.answered and any(what == f"response_{test.answered}" for what, _ in done):
        return True
    return any(what == measured and regime in ("", where) for what, where in done)


def _cars(posterior: Posterior, sets: list[tuple[float, CauseSet]]) -> _Cars:
    """The likeliest cars of each set."""
    share = np.array([p for p, _ in sets])
    owner, weight, states, steady = [], [], [], []
    for number, (_, one) in enumerate(sets):
        order = np.argsort(one.log_weights)[::-1][:DRAWS_PER_SET]
        owner.append(np.full(len(order), number))
        weight.append(one.weights[order] / np.sum(one.weights[order]))
        states.append(posterior.causes.states(one.members, one.magnitudes[order]))
        steady.append(one.scores.steady[order])
    return _Cars(share / np.sum(share), np.concatenate(owner), np.concatenate(weight), np.vstack(states),
                 np.vstack(steady))  # fmt: skip


def information(share: Float, owner: NDArray[np.int64], results: Float, weight: Float, sigma: float) -> float:
    """Mutual information between a car's set and a test's result. [bit]

    Args:
        share: probability of each set, shape (sets,).
        owner: set that each car belongs to, shape (cars,).
        results: what the test would read on each car, shape (cars,).
        weight: of each car within its set, shape (cars,).
        sigma: standard deviation of the result on one car.
    """
    low, high = np.min(results) - 4.0 * sigma, np.max(results) + 4.0 * sigma
    count = int(min(max((high - low) / sigma * POINTS_PER_DOUBT, 16), MOST_POINTS))
    gap = (high - low) / (count - 1)
    width = max(sigma, 0.7 * gap)  # a result finer than the grid is told as fine as the grid
    # each car's weight goes to the two points beside its result, then every point is spread by the doubt
    along = (results - low) / gap
    cell = np.minimum(along.astype(np.int64), count - 2)
    part = along - cell
    binned = np.zeros((len(share), count))
    np.add.at(binned, (owner, cell), weight * (1.0 - part))
    np.add.at(binned, (owner, cell + 1), weight * part)
    away = gap * np.arange(1 - count, count) / width
    spread = np.exp(-0.5 * away**2) / (width * np.sqrt(2.0 * np.pi))
    whole = fftconvolve(binned, spread[None], axes=1)
    density = np.maximum(whole[:, count - 1 : 2 * count - 1], 0.0)
    mixture = share @ density
    ratio = np.log2(np.maximum(density, 1e-300) / np.maximum(mixture, 1e-300))
    return max(float(np.sum(share @ (density * ratio)) * gap), 0.0)


def _sentence(test: ShopTest, bits: float, left: float, posterior: Posterior) -> str:
    """Why this test, in one sentence."""
    names = posterior.causes
    touched = [names.causes[k].title.lower() for k in range(len(names.names))
               if test.reads in names.causes[k].effects and posterior.marginal(k) > 0.01]  # fmt: skip
    about = f" on {', '.join(touched)}" if touched else ""
    return (
        f"In {test.minutes:g} min it settles {bits:.2f} of the {left:.2f} bits still open{about}, "
        f"{bits / test.minutes:.3f} bit a minute."
    )
