"""A test with a response, recorded: before, after, the change with its interval, and what the answer means."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import hypot

from dwellwright.catalogue.response_tests import Direction, ResponseTest
from dwellwright.errors import InputFault
from dwellwright.evidence.chance import normal_share
from dwellwright.evidence.observation import Measured, Observation, Regime

SURE = 0.9
"""Probability from which an answer is called; below it the test is to be repeated (assumed). [-]"""


@dataclass(frozen=True)
class Response:
    """One test done once.

    Args:
        test: which.
        before: reading before, in SI.
        after: reading during, in SI.
        chances: probability of each direction, given the doubt of both readings. [-]
        time: when, if known.
    """

    test: ResponseTest
    before: Observation
    after: Observation
    chances: dict[Direction, float]
    time: datetime | None = None

    @property
    def change(self) -> float:
        """After minus before. [SI]"""
        return self.after.value - self.before.value

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of the change. [SI]"""
        return hypot(self.before.uncertainty, self.after.uncertainty)

    @property
    def direction(self) -> Direction | None:
        """Which way it went; None when the doubt of the readings leaves it open."""
        best = max(self.chances, key=lambda one: self.chances[one])
        return best if self.chances[best] >= SURE else None

    @property
    def as_expected(self) -> float:
        """Probability that it went the way a sound car goes. [-]"""
        return self.chances[self.test.expected]

    @property
    def words(self) -> str:
        """What the answer means, or that it has to be repeated."""
        if self.direction is None:
            return f"{self.test.label}: no clear answer; measure longer before and after, and repeat"
        return f"{self.test.label}: {self.test.answers[self.direction]}"

    def interval(self, coverage_factor: float = 2.0) -> tuple[float, float]:
        """Change minus and plus that many standard uncertainties. [SI]"""
        half = coverage_factor * self.uncertainty
        return self.change - half, self.change + half


def response(
    test: ResponseTest, before: Observation, after: Observation, time: datetime | None = None
) -> Response:
    """A test's answer from the readings before and during it.

    A change counts from half of the test's smallest answer upward, so that a reading standing just at the
    smallest answer is called one.

    Args:
        test: which.
        before: reading with nothing done.
        after: reading while it is done.
        time: when.

    Raises:
        InputFault: the readings are of something else than the test watches, or in different regimes.
    """
    for reading in (before, after):
        if reading.measured is not Measured(test.watch):
            raise InputFault(
                "the reading is not what this test watches",
                where=f"{test.label}, {reading.source}",
                wanted=test.watch,
                got=str(reading.measured),
            )
        if reading.regime is not Regime(test.regime):
            raise InputFault(
                "the reading was not taken where this test is done",
                where=f"{test.label}, {reading.source}",
                wanted=test.regime,
                got=str(reading.regime),
            )
    change, doubt = after.value - before.value, hypot(before.uncertainty, after.uncertainty)
    edge = test.smallest / 2
    rises = normal_share(-(edge - change) / doubt) if doubt > 0 else float(change >= edge)
    falls = normal_share((-edge - change) / doubt) if doubt > 0 else float(change <= -edge)
    chances = {Direction.RISES: rises, Direction.FALLS: falls, Direction.STAYS: max(0.0, 1 - rises - falls)}
    return Response(test, before, after, chances, time)
