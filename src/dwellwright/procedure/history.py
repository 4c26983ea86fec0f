"""What was read, checked and turned at a step, in the order in which it happened."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from math import hypot

from dwellwright.catalogue.steps import StepPlan
from dwellwright.evidence.observation import Observation

Moment = tuple[datetime, int]
"""When, then which came first among things of the same time."""

BEGINNING = datetime.min.replace(tzinfo=UTC)
"""Time given to a reading without one: what came in a file is as found, before anything was turned."""

CHANGED = 3.0
"""Two readings further apart than this many combined standard uncertainties are two settings. Assumed."""


@dataclass(frozen=True)
class Turned:
    """A hand turned or bent something at a step.

    Args:
        step: key of the step.
        time: when; without a zone it is taken as UTC.
        turns: clockwise positive; None when it was bent or the count was lost. [turns]
        note: as typed.
    """

    step: str
    time: datetime
    turns: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Checked:
    """A step judged without an observation: by eye, or by a gauge whose reading no model uses.

    Args:
        step: key of the step.
        time: when; without a zone it is taken as UTC.
        passed: satisfied or not; ignored when a value is given and the sheet has a figure.
        value: reading, if there was one. [SI]
        uncertainty: standard uncertainty of it. [SI]
        note: as typed.
    """

    step: str
    time: datetime
    passed: bool
    value: float | None = None
    uncertainty: float = 0.0
    note: str = ""


@dataclass(frozen=True)
class History:
    """One step's own past, oldest first; `changes` are the moments at which its setting moved."""

    readings: tuple[tuple[Moment, Observation], ...] = ()
    checks: tuple[tuple[Moment, Checked], ...] = ()
    changes: tuple[Moment, ...] = ()

    @property
    def latest(self) -> Moment | None:
        """When the step was last read or checked."""
        moments = [moment for moment, _ in (*self.readings, *self.checks)]
        return max(moments, default=None)


def aware(time: datetime | None) -> datetime:
    """A time that compares with every other."""
    if time is None:
        return BEGINNING
    return time if time.tzinfo else time.replace(tzinfo=UTC)


def history_of(
    plan: StepPlan, observations: Sequence[Observation], checks: Iterable[Checked], turned: Iterable[Turned]
) -> History:
    """The past of a step among everything of the job, which is given in the order it was entered."""
    readings = sorted(
        ((aware(one.time), index), one)
        for index, one in enumerate(observations)
        if one.measured.value == plan.reading and one.regime.value in plan.regimes
    ) if plan.reading else []  # fmt: skip
    count = len(observations)
    own = [one for one in checks if one.step == plan.key]
    looked = sorted(
        (((aware(one.time), count + i), one) for i, one in enumerate(own)), key=lambda pair: pair[0]
    )
    turns = [(aware(one.time), -1) for one in turned if one.step == plan.key]
    moved = (
        _moved(readings) if (plan.wanted or "").startswith("settings.") and "bench" in plan.regimes else []
    )
    return History(tuple(readings), tuple(looked), tuple(sorted([*turns, *moved])))


def _moved(readings: list[tuple[Moment, Observation]]) -> list[Moment]:
    """Moments at which a reading shows that the setting is no longer what it was."""
    pairs = pairwise(readings)
    return [
        moment
        for (_, before), (moment, after) in pairs
        if abs(after.value - before.value) > CHANGED * hypot(before.uncertainty, after.uncertainty)
    ]
