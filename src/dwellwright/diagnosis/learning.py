"""What closed jobs teach of the doubts: how far healthy settings scatter, and how far the model is off the dwell.

Both start at the shipped figures and move as jobs with known causes come in. A setting's spread is learned from gauge
readings of cars on which it was not the cause; the model's doubt from the dwell of cars whose causes were confirmed,
with the sizes that the other evidence leaves possible. Inference on a grid, as Gelman et al., Bayesian Data Analysis,
3rd ed., section 10.1, does it for one or two unknowns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.special import ndtr

from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.state import healthy
from dwellwright.carburetor.steady import COLUMN
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.diagnosis.hypotheses import Causes, range_of, selected
from dwellwright.diagnosis.likelihood import Problem, dwell_part, problem_of, readings_against
from dwellwright.diagnosis.posterior import CauseSet, drawn_sets
from dwellwright.diagnosis.proposal import even_proposal, fitted_proposal
from dwellwright.diagnosis.readings import HELD_LIMITS, Float, gathered
from dwellwright.diagnosis.scatter import Scatter, shipped_scatter
from dwellwright.evidence.observation import Observation

BELIEF = 0.4
"""Standard deviation of the log of each doubt over the shipped one, before any job, assumed. [-]"""
INTERVAL = (0.1, 0.9)
"""Quantiles told of a learned doubt. [-]"""
FACTORS = np.exp(np.linspace(-1.2, 1.2, 7))
"""Doubts over the shipped ones at which past cars are weighed. [-]"""
FINE = np.exp(np.linspace(-1.2, 1.2, 121))
"""The same, where the belief is added up. [-]"""
LOG_PRIOR = -0.5 * (np.log(FINE) / BELIEF) ** 2
"""Log of the belief in each before any job. [-]"""
DRAWS = (128, 256)
"""Sizes of a past car's causes: first evenly through their ranges, then where its evidence puts them."""


@dataclass(frozen=True)
class PastCar:
    """A car whose causes are known.

    Args:
        sheet: of its unit.
        seen: what was observed before the work.
        found: identifiers of the causes that were confirmed; none for a healthy car.
    """

    sheet: SpecSheet
    seen: tuple[Observation, ...]
    found: frozenset[str]


@dataclass(frozen=True)
class LearnedDoubt:
    """One doubt, before and after the shop's jobs.

    Args:
        name: of the direction of scatter, or of the part of the model's doubt.
        shipped: the catalogue's. [SI or -]
        learned, low, high: the shop's, with its 80 % interval. [SI or -]
        cars: that taught it.
    """

    name: str
    shipped: float
    learned: float
    low: float
    high: float
    cars: int


@dataclass(frozen=True)
class Learned:
    """Scatter and the model's doubt as this shop's cars show them.

    Args:
        scatter: to diagnose with.
        doubts: everything that at least one car taught.
    """

    scatter: Scatter
    doubts: tuple[LearnedDoubt, ...]


Spread = tuple[float, float, float]
"""Root mean square of a factor, and both ends of its interval. [-]"""
Deviation = tuple[float, float, float]
"""Of a healthy setting: deviation, its standard uncertainty, and the size from which it is a fault. [SI or turns]"""


def learned_from(past: Sequence[PastCar]) -> Learned:
    """What these cars teach; the shipped figures where there are none."""
    causes, shipped = selected(shipped_causes()), shipped_scatter()
    spreads, settings = shipped.spreads.copy(), []
    for k, seen in enumerate(_settings_seen(past, causes, shipped)):
        if seen:
            settings.append(
                _told(
                    shipped.names[k], float(shipped.spreads[k]), _spread(shipped.spreads[k], seen), len(seen)
                )
            )
            spreads[k] = settings[-1].learned
    own = replace(shipped, spreads=spreads)
    tables = [table for car in past if (table := _table(car, causes, own)) is not None]
    if not tables:
        return Learned(own, tuple(settings))
    effect, floor = _factors(np.sum(tables, axis=0))
    model, faulty = shipped.discrepancy, sum(bool(np.ptp(table[:, 0])) for table in tables)
    told = [_told("floor", model.floor, floor, len(tables))]
    if faulty:
        told += [_told(name, getattr(model, name), effect, faulty) for name in ("shared", "regime")]
    return Learned(replace(own, discrepancy=model.scaled(effect[0], floor[0])), (*settings, *told))


def _told(name: str, shipped: float, factor: Spread, cars: int) -> LearnedDoubt:
    learned, low, high = (shipped * one for one in factor)
    return LearnedDoubt(name, shipped, learned, low, high, cars)


def _settings_seen(past: Sequence[PastCar], causes: Causes, scatter: Scatter) -> list[list[Deviation]]:
    """What was seen along each direction of scatter.

    A reading counts where it looks at one direction alone and no cause that moves it was confirmed; the most certain
    one of each car.
    """
    found: list[list[Deviation]] = [[] for _ in scatter.names]
    limits = _fault_sizes(causes, scatter)
    base = healthy(len(scatter.names) + 1)
    base[1:] += scatter.directions
    for car in past:
        passages, best = passages_of(car.sheet), dict[int, tuple[float, float]]()
        for one in readings_against(car.sheet, gathered(car.seen), scatter):
            seen = one.predicted(base, passages, 0.0)
            slopes = seen[1:] - seen[0]
            looks_at = np.flatnonzero(slopes)
            if len(looks_at) != 1 or _moved(int(looks_at[0]), car.found, causes, scatter):
                continue
            k = int(looks_at[0])
            entry = (float(one.deviation / slopes[k]), float(one.uncertainty / abs(slopes[k])))
            best[k] = min(best.get(k, entry), entry, key=lambda pair: pair[1])
        for k, (deviation, doubt) in best.items():
            if abs(deviation) < limits[k]:
                found[k].append((deviation, doubt, float(limits[k])))
    return found


def _fault_sizes(causes: Causes, scatter: Scatter) -> Float:
    """Least deviation along each direction that the catalogue calls a fault or a condition; infinite where none."""
    limits = np.full(len(scatter.names), np.inf)
    for row, cause in enumerate(causes.causes):
        moved = np.flatnonzero(scatter.directions @ causes.effects[row])
        for k in moved:
            share = abs(causes.effects[row][scatter.directions[k] != 0.0]).max()
            limits[k] = min(limits[k], share * range_of(cause).least)
    return limits


def _moved(k: int, found: frozenset[str], causes: Causes, scatter: Scatter) -> bool:
    """Whether a confirmed cause moves this direction."""
    held = [row for row, name in enumerate(causes.names) if name in found]
    return bool(np.any(causes.effects[held] @ scatter.directions[k]))


def _spread(shipped: float, seen: list[Deviation]) -> Spread:
    """A spread over the shipped one from healthy cars, each a normal cut off where it would be called a fault."""
    deviation, doubt, limit = np.array(seen).T[:, :, None]
    variance = (shipped * FINE) ** 2 + doubt**2
    log_mass = np.log1p(-2.0 * ndtr(-limit / np.sqrt(variance)))
    log_likelihood = np.sum(-0.5 * deviation**2 / variance - 0.5 * np.log(variance) - log_mass, axis=0)
    return _summed(log_likelihood + LOG_PRIOR)


def _factors(table: Float) -> tuple[Spread, Spread]:
    """Factors of the doubt of an effect and of a healthy car's, from the log-likelihood of all cars on the grid."""
    at, fine = np.log(FACTORS), np.log(FINE)
    surface = RectBivariateSpline(at, at, table)(fine, fine) + LOG_PRIOR[:, None] + LOG_PRIOR
    return _summed(np.logaddexp.reduce(surface, axis=1)), _summed(np.logaddexp.reduce(surface, axis=0))


def _summed(log_belief: Float) -> Spread:
    """Root mean square and interval of a factor from its log belief on the fine grid."""
    belief = np.exp(log_belief - np.max(log_belief))
    belief /= np.sum(belief)
    low, high = np.interp(INTERVAL, np.cumsum(belief), FINE)
    return float(np.sqrt(belief @ FINE**2)), float(low), float(high)


def _table(car: PastCar, causes: Causes, scatter: Scatter) -> Float | None:
    """Log-likelihood of one car's dwell on the grid of factors (effect, floor); None where it teaches nothing."""
    members = tuple(row for row, name in enumerate(causes.names) if name in car.found)
    problem = problem_of(car.sheet, gathered(car.seen), scatter)
    if not np.any(np.isfinite(problem.duty) & ~problem.open_loop) or len(members) > 3:
        return None
    if len(members) < len(car.found) or not causes.together(members):
        return None
    one = _sized(problem, causes, members)
    wanted = one.scores.steady[:, :, COLUMN.duty]
    # at a limit the dwell stands there whatever the model errs: it says nothing of that error
    free = (wanted > HELD_LIMITS[0]) & (wanted < HELD_LIMITS[1])
    table = np.empty((len(FACTORS), len(FACTORS)))
    for row, effect in enumerate(FACTORS):
        factors = np.tile(np.where(free, effect, 1.0), (len(FACTORS), 1))
        dwell = dwell_part(problem, np.tile(one.scores.duty, (len(FACTORS), 1)),
                           np.tile(wanted, (len(FACTORS), 1)), factors,
                           np.repeat(FACTORS, len(wanted)))  # fmt: skip
        likely = one.log_weights - one.scores.parts["dwell"] + dwell.reshape(len(FACTORS), -1)
        table[row] = np.logaddexp.reduce(likely, axis=1)
    return table


def _sized(problem: Problem, causes: Causes, members: tuple[int, ...]) -> CauseSet:
    """Draws of the causes' sizes where this car's evidence puts them."""
    ranges = tuple(range_of(causes.causes[k]) for k in members)
    first, second = DRAWS if members else (1, 1)
    drawn = drawn_sets(problem, causes, [(members, even_proposal(ranges), first)], 1)[0]
    if not members:
        return drawn
    proposal = fitted_proposal(ranges, drawn.magnitudes, drawn.weights, 1.5)
    return drawn_sets(problem, causes, [(members, proposal, second)], 2)[0]
