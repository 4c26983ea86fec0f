"""The sampler here beside emcee (an affine-invariant ensemble) on one reduced problem, in one run.

Usage: python benchmarks/diagnosis/samplers.py        (emcee must be importable; it is no dependency of the tool)

Reduced problem: lean stop high and float level high, both certain to be present; their two sizes are unknown. Both
samplers call the same likelihood; emcee gets it vectorized over its walkers. Equal effective draws are compared:
emcee's from its own integrated autocorrelation time, ours by Kish.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import emcee
import numpy as np

from dwellwright.carburetor.prediction import predicted
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import posterior as sampler
from dwellwright.diagnosis.hypotheses import Causes, range_of, selected
from dwellwright.diagnosis.likelihood import Problem, problem_of, scores
from dwellwright.diagnosis.next_test import next_tests
from dwellwright.diagnosis.proposal import even_proposal, fitted_proposal
from dwellwright.diagnosis.readings import REGIMES, gathered
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")
WALKERS, STEPS = 32, 2500


def problem() -> tuple[Problem, Causes]:
    """Dwell in three regimes and one float reading of a car with both causes."""
    state = CarState(lean_stop=25 * 25.4e-6, fuel_level=2.5e-3)
    found = [
        Observation(Measured.DUTY, r, p.duty, 0.005, "made")
        for r, p in zip(REGIMES, predicted(SHEET, state), strict=True)
    ]
    found.append(Observation(Measured.FLOAT_LEVEL_RUNNING, Regime.IDLE, 7.2e-3, 4e-4, "made", 9.5e-3))
    every = shipped_causes()
    return problem_of(SHEET, gathered(found)), selected(
        {k: every[k].model_copy(update={"negative": ""}) for k in ("lean_stop", "float_level")}
    )


def ours(one: Problem, causes: Causes) -> tuple[float, float, np.ndarray]:
    """Seconds, effective draws, and the mean sizes."""
    ranges = tuple(range_of(cause) for cause in causes.causes)
    begin = time.perf_counter()
    drawn = sampler.drawn_sets(one, causes, [((0, 1), even_proposal(ranges), 128)], 1)[0]
    for count, widening in ((256, 1.5), (1800, 1.2)):
        proposal = fitted_proposal(ranges, drawn.magnitudes, drawn.weights, widening)
        drawn = sampler.drawn_sets(one, causes, [((0, 1), proposal, count)], 2)[0]
    spent = time.perf_counter() - begin
    mean = drawn.weights @ drawn.magnitudes
    spread = np.sqrt(drawn.weights @ (drawn.magnitudes - mean) ** 2)
    return spent, drawn.effective, np.concatenate([mean, spread])


def ensemble(one: Problem, causes: Causes, steps: int, near: np.ndarray) -> tuple[float, float, np.ndarray]:
    """The same by emcee."""
    ranges = tuple(range_of(cause) for cause in causes.causes)
    start = near[:2] + 0.3 * near[2:] * np.random.default_rng(1).normal(size=(WALKERS, 2))
    start = np.clip(start, [1.01 * r.least for r in ranges], [0.99 * r.most for r in ranges])
    runner = emcee.EnsembleSampler(WALKERS, 2, _log_density(one, causes), vectorize=True)
    begin = time.perf_counter()
    runner.run_mcmc(start, steps)
    spent = time.perf_counter() - begin
    burnt = steps // 5
    chain = runner.get_chain(discard=burnt)
    length = float(np.max(emcee.autocorr.integrated_time(chain, quiet=True)))
    flat = chain.reshape(-1, 2)
    return spent, len(flat) / length, np.concatenate([flat.mean(axis=0), flat.std(axis=0)])


def _log_density(one: Problem, causes: Causes) -> Callable[[np.ndarray], np.ndarray]:
    ranges = tuple(range_of(cause) for cause in causes.causes)

    def density(points: np.ndarray) -> np.ndarray:
        inside = np.ones(len(points), dtype=bool)
        for r, size in zip(ranges, points.T, strict=False):
            inside &= (np.abs(size) >= r.least) & (np.abs(size) <= r.most)
        states = causes.states((0, 1), points)
        return np.where(inside, scores(one, states).total, -np.inf)

    return density


def main() -> None:
    """Run both and print."""
    one, causes = problem()
    ours(one, causes)
    spent, effective, told = ours(one, causes)
    print(
        f"ours:   {1e3 * spent:8.1f} ms, {effective:6.0f} effective draws, {1e6 * spent / effective:8.1f} us each"
    )
    theirs, count, means = ensemble(one, causes, STEPS, told)
    print(
        f"emcee:  {1e3 * theirs:8.1f} ms, {count:6.0f} effective draws, {1e6 * theirs / count:8.1f} us each"
    )
    print(f"the same effective draws take it {(theirs / count) / (spent / effective):.0f} times as long")
    print("its means and spreads over ours:", np.round(means / told, 3))
    whole = selected(shipped_causes())
    sampler.posterior_of(one, whole)
    begin, cpu = time.perf_counter(), time.process_time()
    posterior = sampler.posterior_of(one, whole)
    next_tests(one, posterior)
    print(f"all {len(whole.names)} causes with next tests: {1e3 * (time.perf_counter() - begin):.0f} ms "
          f"({1e3 * (time.process_time() - cpu):.0f} ms of processor), "
          f"{posterior.effective_draws:.0f} effective draws")  # fmt: skip


if __name__ == "__main__":
    main()
