"""Whether to take the unit off: expected minutes of work each way."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from dwellwright.catalogue.shop_tests import shipped_tests
from dwellwright.diagnosis.posterior import Posterior
from dwellwright.diagnosis.readings import Float

PULL_MINUTES, BENCH_MINUTES = 90.0, 60.0
"""To take the unit off and put it back with a new gasket, and to gauge it on the bench, assumed. [min]"""
UNCHECKED = 10.0
"""To check a cause outside the unit that no test of the catalogue reads, assumed. [min]"""
WORTH_CHECKING = 0.02
"""Causes outside less probable than this are not looked for. [-]"""
NOTHING = 0.8
"""Probability of no fault above which there is nothing to take off, assumed. [-]"""


class Pull(StrEnum):
    """What to do with the unit."""

    PULL = "take it off"
    LEAVE = "leave it on"
    NOTHING = "leave it on: most likely nothing is wrong"


@dataclass(frozen=True)
class PullDecision:
    """Whether to take the unit off.

    Args:
        advice: what to do.
        minutes_leave: expected minutes if what is outside the unit is looked at first. [min]
        minutes_pull: expected minutes if the unit comes off first. [min]
        inside: probability of a fault that needs the unit off. [-]
        outside: probability of a fault, but none that needs it off. [-]
        why: one sentence with numbers.
    """

    advice: Pull
    minutes_leave: float
    minutes_pull: float
    inside: float
    outside: float
    why: str


def pull_decision(posterior: Posterior) -> PullDecision:
    """Expected minutes with the unit left on at first, and with it taken off at first; the shorter way is advised.

    Outside, suspects are checked in the order of chance per minute until one is found; all of them when none is it.
    """
    causes = posterior.causes.causes
    inner = np.array([one.inside and one.kind == "fault" for one in causes])
    healthy = posterior.without("fault")
    inside = 1.0 - posterior.without_any(inner)
    outside = max(1.0 - healthy - inside, 0.0)
    chances = np.array([posterior.marginal(k) for k in range(len(causes))])
    outer = np.array([not one.inside and one.kind == "fault" for one in causes])
    found, every = _search(posterior, chances, outer)
    mend_inside, mend_outside = (_mending(posterior, chances, which) for which in (inner, outer))
    outer_way = outside * (found + mend_outside) + healthy * every
    leave = outer_way + inside * (every + PULL_MINUTES + BENCH_MINUTES + mend_inside)
    pull = outer_way + PULL_MINUTES + BENCH_MINUTES + inside * mend_inside
    advice = Pull.NOTHING if healthy > NOTHING else Pull.PULL if pull < leave else Pull.LEAVE
    why = (
        f"A fault inside the unit is {inside:.0%} likely, one outside alone {outside:.0%}: about {pull:.0f} min of "
        f"work are expected if it comes off first, {leave:.0f} min if what is outside is looked at first."
    )
    return PullDecision(advice, leave, pull, inside, outside, why)


def _search(posterior: Posterior, chances: Float, outer: NDArray[np.bool_]) -> tuple[float, float]:
    """Minutes until a fault outside is found, and until all that is likely has been looked at."""
    suspects = [
        (float(chances[k]), _check_minutes(posterior, int(k)))
        for k in np.flatnonzero(outer & (chances > WORTH_CHECKING))
    ]
    suspects.sort(key=lambda one: -one[0] / one[1])
    total, spent, weight = 0.0, 0.0, 0.0
    for chance, minutes in suspects:
        spent += minutes
        total, weight = total + chance * spent, weight + chance
    return (total / weight if weight else 0.0), spent


def _check_minutes(posterior: Posterior, k: int) -> float:
    """Minutes of the quickest test that reads this cause."""
    fields = posterior.causes.causes[k].effects
    return min((test.minutes for test in shipped_tests() if test.reads in fields), default=UNCHECKED)


def _mending(posterior: Posterior, chances: Float, which: NDArray[np.bool_]) -> float:
    """Minutes to put right, the mean over causes of this kind by their chance."""
    minutes = np.array([one.minutes for one in posterior.causes.causes])
    weight = float(np.sum(chances[which]))
    return float(chances[which] @ minutes[which]) / weight if weight else 0.0
