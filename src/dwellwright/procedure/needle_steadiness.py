"""Whether an idle holds still: how far its reading moves while nothing is turned, and what that says.

Only readings taken one after the other without a turn between them count, because nothing has to be believed of the
screw for those. Between two of them the true mean walks by a step of unknown size; each reading adds its own doubt.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from dwellwright.procedure.needle_belief import first_belief, moved, read
from dwellwright.procedure.needle_task import Entry, NeedleTask

PAIRS_ASSUMED = 2.0
"""How many pairs of readings the assumed drift weighs as much as. Assumed."""

UNSTEADY_BEFORE = 0.10
"""Chance before any reading that an idle does not hold still. Assumed."""

STEADY_FACTOR = 2.0
"""Steady idles' drift lies about the assumed one within such a factor, one standard deviation. Assumed."""

UNSTEADY_FROM, UNSTEADY_TO = 0.6, 4.0
"""Step from one reading to the next of an idle that does not hold still, in tolerances, any size as likely. Assumed."""

NODES = 25

JUMP, MOST_RAISED = 1.5, 10.0
"""Walk of an idle that jumps, in tolerances, and by how much answers to turns may raise the odds of one: they may
as well come from a screw unlike any that is assumed. Assumed."""


@dataclass(frozen=True)
class Steadiness:
    """What pairs of untouched readings say.

    Args:
        pairs: how many.
        chance: probability that the idle does not hold still.
        step: how far the mean moves from one reading to the next if it does not, root mean square. [-]
    """

    pairs: int
    chance: float
    step: float

    def told(self, task: NeedleTask) -> str:
        """What to say of an idle that does not hold still."""
        return (
            f"this idle does not hold still: untouched, it moves by about {self.step / task.tolerance:.1f} times the"
            " tolerance from one reading to the next; find out why before turning"
        )


def untouched_runs(task: NeedleTask, entries: Sequence[Entry]) -> list[list[Entry]]:
    """Readings within the limits, two or more after each other with nothing turned between them."""
    runs: list[list[Entry]] = [[]]
    for entry in entries:
        free = task.limits[0] < entry.duty < task.limits[1]
        if any(entry.out) or not free:
            runs.append([])
        if free:
            runs[-1].append(entry)
    return [run for run in runs if len(run) > 1]


def wandering(task: NeedleTask, entries: Sequence[Entry]) -> float:
    """Standard deviation of the walk between two readings, together with the drift assumed. [-]

    Pairs of readings with nothing turned between them, less their own doubt.
    """
    steps = [
        max((after.duty - before.duty) ** 2 - before.uncertainty**2 - after.uncertainty**2, 0.0)
        for run in untouched_runs(task, entries)
        for before, after in itertools.pairwise(run)
    ]
    return float(((PAIRS_ASSUMED * task.craft.drift**2 + sum(steps)) / (PAIRS_ASSUMED + len(steps))) ** 0.5)


def steadiness(task: NeedleTask, entries: Sequence[Entry]) -> Steadiness:
    """Two kinds of idle weighed by the likelihood of every untouched run: it holds still, or it does not."""
    runs = untouched_runs(task, entries)
    walk = task.tolerance * np.geomspace(UNSTEADY_FROM, UNSTEADY_TO, NODES)
    spread = np.linspace(-2.0, 2.0, NODES)
    still = np.minimum(task.craft.drift * STEADY_FACTOR**spread, UNSTEADY_FROM * task.tolerance)
    usual = np.exp(-0.5 * spread**2) * (1.0 - UNSTEADY_BEFORE)
    prior = np.concatenate([usual / np.exp(-0.5 * spread**2).sum(), np.full(NODES, UNSTEADY_BEFORE / NODES)])
    log_likelihood = sum(
        (_log_likelihood(run, np.concatenate([still, walk])) for run in runs), np.zeros(2 * NODES)
    )
    weight = prior * np.exp(log_likelihood - log_likelihood.max())
    wild = weight[NODES:]
    return Steadiness(
        pairs=sum(len(run) - 1 for run in runs),
        chance=float(wild.sum() / weight.sum()),
        step=float(np.sqrt(wild @ walk**2 / wild.sum())),
    )


def _log_likelihood(run: Sequence[Entry], walk: NDArray[np.float64]) -> NDArray[np.float64]:
    """Of the readings after the first, for each size of step: a walk seen through noise, by the Kalman filter."""
    mean, variance = np.full(walk.size, run[0].duty), np.full(walk.size, run[0].uncertainty ** 2)
    total = np.zeros(walk.size)
    for entry in run[1:]:
        forecast = variance + walk**2 + entry.uncertainty**2
        missed = entry.duty - mean
        total -= 0.5 * (missed**2 / forecast + np.log(forecast))
        gain = 1.0 - entry.uncertainty**2 / forecast
        mean, variance = mean + gain * missed, gain * entry.uncertainty**2
    return total


def restlessness(task: NeedleTask, entries: Sequence[Entry], held: Steadiness) -> float:
    """Chance of an unsteady idle by the untouched readings, raised where the answers to turns jump like one's."""
    logs = []
    for drift in (task.craft.drift, JUMP * task.tolerance):
        belief, total = first_belief(task.sensitivity, task.sensitivity_spread, task.needles), 0.0
        for entry in entries:
            belief = read(moved(belief, entry.out, replace(task.craft, drift=drift)), entry, task.limits)
            total += belief.log_forecast if any(entry.out) else 0.0
        logs.append(total)
    odds = (
        held.chance
        / (1.0 - held.chance + 1e-12)
        * np.exp(np.clip(logs[1] - logs[0], 0.0, np.log(MOST_RAISED)))
    )
    return float(odds / (1.0 + odds))
