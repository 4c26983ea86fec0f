"""Is what a diagnosis says as sure as it sounds? Cars are drawn from the prior, diagnosed, and the claims counted.

Usage: python benchmarks/diagnosis/calibration.py [--cars 2000] [--seed 1] [--write docs/calibration.md]

Every car has its causes, sizes, healthy scatter, model error and readings drawn from the distributions that the
likelihood states, so a right sampler must give uniform rank histograms (Talts et al., Validating Bayesian Inference
Algorithms with Simulation-Based Calibration, 2018) and be right as often as it claims.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy.stats import chi2

from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.state import Field
from dwellwright.carburetor.steady import COLUMN
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis.hypotheses import Causes, range_of, selected
from dwellwright.diagnosis.likelihood import (
    TAIL,
    Problem,
    problem_of,
    scores,
)
from dwellwright.diagnosis.loop_model import PERIOD_SHARED, PERIOD_SPREAD
from dwellwright.diagnosis.posterior import posterior_of
from dwellwright.diagnosis.readings import HELD_LIMITS, REGIMES, Evidence, Reading, gathered
from dwellwright.diagnosis.scatter import Scatter, shipped_scatter
from dwellwright.diagnosis.settings_model import DIRECT
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")
GAUGES = {
    Measured.LEAN_STOP: (25e-6, 1.0), Measured.RICH_STOP: (25e-6, 1.0), Measured.IDLE_NEEDLE: (0.06, 1.0),
    Measured.IDLE_BLEED: (0.06, 1.0), Measured.FLOAT_LEVEL: (0.2e-3, 1.0), Measured.ETHANOL: (0.01, 0.0),
    Measured.FUEL_PRESSURE: (1.0e3, 1.0),
}  # fmt: skip
"""Gauge readings a car may come with: the least doubt the likelihood believes, and whether the sheet has a figure."""
GAUGE_CHANCE = 0.5
RANKS = 20
STATED = (0.75, 0.85)


@dataclass
class Count:
    """What was claimed and what was so."""

    chances: list[float] = field(default_factory=list)
    truths: list[bool] = field(default_factory=list)
    ranks: list[float] = field(default_factory=list)
    inside: list[bool] = field(default_factory=list)
    draws: list[float] = field(default_factory=list)
    first: list[bool] = field(default_factory=list)
    best: list[tuple[float, bool]] = field(default_factory=list)


def drawn_causes(causes: Causes, random: np.random.Generator) -> tuple[int, ...]:
    """Causes of one car from the prior; no more than three, and only such as can hold together."""
    while True:
        held = tuple(int(k) for k in np.flatnonzero(random.random(len(causes.priors)) < causes.priors))
        if len(held) <= 3 and causes.together(held):
            return held


def readings_of(
    causes: Causes,
    members: tuple[int, ...],
    sizes: np.ndarray,
    random: np.random.Generator,
    scatter: Scatter | None = None,
) -> list[Observation]:
    """Dwell, limit cycle and gauges of one car, every doubt of the likelihood drawn, or of another shop's cars."""
    scatter, state = scatter or shipped_scatter(), causes.states(members, sizes[None])
    gauges = _gauges(state, scatter, random)
    problem = problem_of(SHEET, gathered(gauges), scatter)
    seen = scores(problem, state)
    wanted = seen.steady[0, :, COLUMN.duty]
    shift = np.clip(wanted, *HELD_LIMITS) - np.clip(problem.base_duty, *HELD_LIMITS)
    # the gauges tie the scatter down first; what they leave, the model's doubt and noise make the dwell's error
    left = np.linalg.cholesky(problem.remaining + 1e-18 * np.eye(len(problem.remaining)))
    error = problem.jacobian @ (left @ random.normal(size=len(left)))
    model = scatter.discrepancy
    error += model.shared * shift * random.normal() + model.regime * shift * random.normal(size=3)
    error += np.hypot(0.01, model.floor) * random.normal(size=3)
    heavy = np.sqrt((TAIL - 2.0) / random.chisquare(TAIL))  # one factor for all makes the normal a t
    duty = seen.duty[0] + heavy * error
    found = [
        Observation(Measured.DUTY, r, float(d), 0.01, "drawn") for r, d in zip(REGIMES, duty, strict=True)
    ]
    return [*gauges, *found, *_periods(problem, state, random)]


def taken_as_drawn(seen: list[Observation]) -> Evidence:
    """Evidence as the likelihood drew it: its normals reach beyond what a meter can show, which would be refused."""
    rest = gathered([one for one in seen if one.measured is not Measured.DUTY])
    duty = {
        (one.measured, one.regime): Reading(one.value, one.uncertainty, one.source)
        for one in seen
        if one.measured is Measured.DUTY
    }
    return Evidence(rest.table | duty, len(seen), rest.refused)


def _periods(problem: Problem, state: np.ndarray, random: np.random.Generator) -> list[Observation]:
    names = ("idle_period", "fast_period", "cruise_period")
    longer = np.log1p(problem.scatter.loop["lag_share"] * state[0, Field.SENSOR_LAG])
    shared = PERIOD_SHARED * random.normal()
    found = []
    for regime, name in zip(REGIMES, names, strict=True):
        spread = np.hypot(PERIOD_SPREAD[regime], 0.05)
        value = problem.scatter.loop[name] * np.exp(longer + shared + spread * random.normal())
        found.append(Observation(Measured.LIMIT_CYCLE_PERIOD, regime, value, 0.05 * value, "drawn"))
    return found


def _gauges(state: np.ndarray, scatter: Scatter, random: np.random.Generator) -> list[Observation]:
    passages = passages_of(SHEET)
    off = state + (random.normal(size=len(scatter.spreads)) * scatter.spreads) @ scatter.directions
    found = []
    for measured, (least, has_figure) in GAUGES.items():
        if random.random() > GAUGE_CHANCE:
            continue
        wanted = (
            SHEET.settings[measured.value].wanted.si
            if has_figure and measured.value in SHEET.settings
            else 0.0
        )
        own = 0.5 * least
        deviation = float(DIRECT[measured][0](off, passages, 0.0)[0])
        value = wanted + deviation + np.hypot(own, least) * random.normal()
        found.append(Observation(measured, Regime.BENCH, value, own, "drawn", wanted))
    return found


def counted(cars: int, seed: int) -> Count:
    """Diagnose so many cars and set the claims beside the truth."""
    causes, random, count = selected(shipped_causes()), np.random.default_rng(seed), Count()
    ranges = [range_of(cause) for cause in causes.causes]
    for car in range(cars):
        members = drawn_causes(causes, random)
        sizes = np.array([ranges[k].spread_evenly(random.random(1))[0] for k in members])
        evidence = taken_as_drawn(readings_of(causes, members, sizes, random))
        posterior = posterior_of(problem_of(SHEET, evidence), causes, seed + car)
        count.draws.append(posterior.effective_draws)
        chances = np.array([posterior.marginal(k) for k in range(len(ranges))])
        count.chances += chances.tolist()
        count.truths += [k in members for k in range(len(ranges))]
        best = int(np.argmax(posterior.probabilities))
        count.best.append((float(posterior.probabilities[best]), posterior.sets[best].members == members))
        if members:
            count.first.append(int(np.argmax(chances)) in members)
        for k, size in zip(members, sizes, strict=True):
            _count_size(count, posterior.magnitudes(k), size, random.random())
    return count


def _count_size(count: Count, drawn: tuple[np.ndarray, np.ndarray], size: float, uniform: float) -> None:
    """Rank of the true size among the draws that hold the cause, and whether the 80 % interval holds it.

    Among n draws a true size has n + 1 places, both ends included: it is put evenly within its place, or few draws
    would fill the ends of the histogram (Talts et al., section 4). n is the effective number.
    """
    values, weights = drawn
    shares = weights / np.sum(weights)
    below, many = float(np.sum(shares[values < size])), 1.0 / float(np.sum(shares**2))
    count.ranks.append((many * below + uniform) / (many + 1.0))
    count.inside.append(0.1 <= below <= 0.9)


def reliability(count: Count) -> list[tuple[float, float, int, float]]:
    """For each band of stated chance: its middle, the mean stated, how often stated, the share that was so."""
    chances, truths = np.array(count.chances), np.array(count.truths)
    rows = []
    for low in (0.0, 0.02, 0.05, 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95):
        high = {0.0: 0.02, 0.02: 0.05, 0.05: 0.15, 0.95: 1.0001}.get(low, low + 0.1)
        chosen = (chances >= low) & (chances < high)
        if np.any(chosen):
            rows.append(
                (low, float(np.mean(chances[chosen])), int(np.sum(chosen)), float(np.mean(truths[chosen])))
            )
    return rows


def uniformity(count: Count) -> tuple[np.ndarray, float]:
    """Rank histogram and the chance of one as uneven if ranks are uniform."""
    found = np.histogram(count.ranks, bins=np.linspace(0, 1, RANKS + 1))[0]
    expected = len(count.ranks) / RANKS
    return found, float(chi2.sf(np.sum((found - expected) ** 2) / expected, RANKS - 1))


def page(count: Count, cars: int, seed: int) -> str:
    """Everything counted, as a page."""
    histogram, chance = uniformity(count)
    chances, truths = np.array(count.chances), np.array(count.truths)
    stated = (chances >= STATED[0]) & (chances < STATED[1])
    lines = [
        "# Is a diagnosis as sure as it sounds?", "",
        f"{cars} invented cars drawn from the priors and from every doubt the likelihood states, seed {seed}; made by",
        "`python benchmarks/diagnosis/calibration.py --write docs/calibration.md`.", "",
        f"- said at 75 to 85 %: {int(np.sum(stated))} times, so in {100 * np.mean(truths[stated]):.1f} %",
        f"- true size inside its 80 % interval: {100 * np.mean(count.inside):.1f} % of {len(count.inside)}",
        f"- rank histogram in {RANKS} bins: {' '.join(str(n) for n in histogram)}",
        f"- chance of a histogram as uneven if ranks are uniform: {chance:.3f}",
        f"- effective draws: median {np.median(count.draws):.0f}, least {np.min(count.draws):.0f}",
        f"- a true cause first: {100 * np.mean(count.first):.1f} % of cars that have one",
        "", "| stated | times | was so |", "|---|---|---|",
        *(f"| {100 * mean:.1f} % | {n} | {100 * share:.1f} % |" for _, mean, n, share in reliability(count)),
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def main() -> None:
    """Count and print, or write, the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", type=Path)
    asked = parser.parse_args()
    text = page(counted(asked.cars, asked.seed), asked.cars, asked.seed)
    if asked.write:
        asked.write.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
