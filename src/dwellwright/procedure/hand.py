"""A turn as a hand can make it: quarters where they do, eighths and sixteenths where they must be."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import copysign, isfinite

FRACTIONS = (4, 8, 16)
"""Parts of a turn that a hand can hold, coarsest first: common practice, no source."""

FINEST = FRACTIONS[-1]

SHARE_FOR_ROUNDING = 0.25
"""Largest share of the tolerance that rounding a turn may use up. Assumed."""


class Way(StrEnum):
    """Which way, seen from the head of the screw."""

    CLOCKWISE = "clockwise"
    COUNTERCLOCKWISE = "counterclockwise"
    LEAVE = "leave"


@dataclass(frozen=True)
class HandTurn:
    """A whole number of sixteenths of a turn, clockwise positive."""

    sixteenths: int

    @property
    def turns(self) -> float:
        """Clockwise positive. [turns]"""
        return self.sixteenths / FINEST

    @property
    def way(self) -> Way:
        """Direction, or `leave`."""
        if self.sixteenths == 0:
            return Way.LEAVE
        return Way.CLOCKWISE if self.sixteenths > 0 else Way.COUNTERCLOCKWISE

    @property
    def amount(self) -> str:
        """How far, without a direction.

        >>> HandTurn(-22).amount, HandTurn(4).amount, HandTurn(32).amount
        ('1 3/8 turns', '1/4 turn', '2 turns')
        """
        whole, rest = divmod(abs(self.sixteenths), FINEST)
        parts = [str(whole)] if whole or not rest else []
        parts += [str(Fraction(rest, FINEST))] if rest else []
        return f"{' '.join(parts)} turn{'s' if abs(self.sixteenths) > FINEST or not self.sixteenths else ''}"

    def __str__(self) -> str:
        return "leave it" if self.way is Way.LEAVE else f"{self.amount} {self.way.value}"


def hand_turn(turns: float, tolerance: float) -> HandTurn:
    """The coarsest turn that still lands near enough.

    Args:
        turns: exact turn, clockwise positive. [turns]
        tolerance: half-width accepted, as a turn of the same screw. [turns]

    Raises:
        ValueError: turns not finite.

    >>> str(hand_turn(0.9733, tolerance=0.13)), str(hand_turn(-0.31, tolerance=0.02))
    ('1 turn clockwise', '5/16 turn counterclockwise')
    """
    if not isfinite(turns):
        raise ValueError(f"turns must be finite, got {turns}")
    for parts in FRACTIONS:
        steps = int(copysign(int(abs(turns) * parts + 0.5), turns))
        if abs(steps / parts - turns) <= SHARE_FOR_ROUNDING * tolerance:
            return HandTurn(steps * FINEST // parts)
    return HandTurn(steps)
