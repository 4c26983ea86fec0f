"""Screw threads to travel, and the turns that bring a reading to its specification: arithmetic, no model."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from math import hypot, sqrt

from dwellwright.errors import InputFault

INCH = 0.0254
TURNING_BY_HAND = 1 / 32
"""Standard uncertainty of turning a screw to a mark by eye. [turns] Assumed: +-1/16 turn at most, triangular
would be 0.026, rectangular 0.036."""

FINEST_STEP = 8
"""Advice is given in eighths of a turn, the finest a hand can hold: common practice, no source."""


class ClockwiseEffect(StrEnum):
    """What a clockwise turn does to the reading."""

    RAISES = "raises"
    LOWERS = "lowers"

    @property
    def sign(self) -> int:
        """+1 when clockwise raises the reading."""
        return 1 if self is ClockwiseEffect.RAISES else -1


@dataclass(frozen=True)
class Thread:
    """A screw thread by its travel in one turn.

    Args:
        pitch: travel in one turn of a single-start thread. [m]
        major_diameter: over the crests, if known. [m]
    """

    pitch: float
    major_diameter: float | None = None

    def __post_init__(self) -> None:
        if not self.pitch > 0:
            raise ValueError(f"thread pitch must be positive, got {self.pitch} m")

    @classmethod
    def per_inch(cls, threads: float, major_diameter: float | None = None) -> Thread:
        """A thread by its count in one inch (ASME B1.1).

        >>> round(Thread.per_inch(32).pitch * 1e3, 5)
        0.79375
        """
        if not threads > 0:
            raise ValueError(f"threads per inch must be positive, got {threads}")
        return cls(INCH / threads, major_diameter)


def _unified_diameter(name: str) -> float:
    """Major diameter of a unified size; ASME B1.1 numbers are 0.060 in + 0.013 in each. [m]"""
    if "/" in name:
        above, below = name.split("/")
        return INCH * int(above) / int(below)
    return INCH * (0.060 + 0.013 * int(name))


def thread_of(designation: str) -> Thread:
    """The thread of a designation: `10-32`, `#8-40`, `1/4-28 UNF`, `M5x0.8`.

    Raises:
        InputFault: it is none of those.

    References:
        ASME B1.1 for unified sizes, ISO 261 for the metric form.

    >>> round(thread_of("10-32").major_diameter / 0.0254, 3)
    0.19
    """
    text = designation.strip().upper().replace(" ", "").replace("×", "X")
    unified = re.fullmatch(
        r"(?:#|NO\.?)?(\d{1,2}|\d/[1-9]\d?)-(\d{1,3})(UN[CFS]?[R]?|UNEF)?(-?[123][AB])?", text, re.ASCII
    )
    metric = re.fullmatch(r"M(\d{1,2}(?:\.\d+)?)X(\d{1,2}(?:\.\d+)?)(-\d[A-Z]+)?", text, re.ASCII)
    if unified and int(unified[2]) > 0:
        return Thread.per_inch(int(unified[2]), _unified_diameter(unified[1]))
    if metric and float(metric[2]) > 0:
        return Thread(float(metric[2]) * 1e-3, float(metric[1]) * 1e-3)
    raise InputFault(
        "the thread is not one of the forms known",
        wanted="such as 10-32, 1/4-28 or M5x0.8",
        got=repr(designation[:40]),
    )


@dataclass(frozen=True)
class TurnAdvice:
    """How far and which way to turn.

    Args:
        turns: clockwise positive. [turns]
        uncertainty: standard uncertainty of `turns`, from reading and hand. [turns]
        travel: of the screw along its axis, always positive. [m] Zero for a screw whose setting is in turns.
        remaining: expected error of the reading after turning by the rounded advice. [unit of the reading]
        reading_uncertainty: standard uncertainty of the reading after turning. [unit of the reading]
        words: for the person with the screwdriver.
    """

    turns: float
    uncertainty: float
    travel: float
    remaining: float
    reading_uncertainty: float
    words: str

    @property
    def direction(self) -> str:
        """`clockwise`, `counterclockwise`, or `leave` when the rounded advice is no turn at all."""
        rounded = rounded_turns(self.turns)
        if rounded == 0:
            return "leave"
        return "clockwise" if rounded > 0 else "counterclockwise"


def rounded_turns(turns: float, finest: int = FINEST_STEP) -> float:
    """Turns to the nearest step that a hand can hold; a half step goes away from zero."""
    steps = int(abs(turns) * finest + 0.5)
    return steps / finest if turns >= 0 else -steps / finest


def turn_words(turns: float) -> str:
    """A positive number of turns as a person counts them: whole turns, quarters, and an eighth.

    >>> turn_words(0.375)
    '1/4 + 1/8 turn'
    >>> turn_words(2.5)
    '2 + 1/2 turns'
    """
    steps = round(turns * FINEST_STEP)
    whole, eighths = divmod(steps, FINEST_STEP)
    quarters = {0: "", 2: "1/4", 4: "1/2", 6: "3/4"}
    parts = [str(whole) if whole else "", quarters[eighths - eighths % 2], "1/8" if eighths % 2 else ""]
    text = " + ".join(part for part in parts if part) or "0"
    return f"{text} turn{'s' if steps > FINEST_STEP else ''}"


def _words(name: str, rounded: float, uncertainty: float) -> str:
    if rounded == 0:
        return f"leave the {name} as it is: the correction is less than 1/{2 * FINEST_STEP} turn"
    way = "clockwise" if rounded > 0 else "counterclockwise"
    doubt = ""
    if uncertainty * 2 > abs(rounded):
        doubt = "; the reading is so uncertain that even the direction is in doubt, so measure again first"
    return f"turn the {name} {turn_words(abs(rounded))} {way}, then measure again{doubt}"


def turns_to_specification(
    reading: float,
    wanted: float,
    thread: Thread,
    clockwise_effect: ClockwiseEffect,
    *,
    uncertainty: float = 0.0,
    ratio: float = 1.0,
    name: str = "screw",
) -> TurnAdvice:
    """Turns and direction that bring a length reading to its specification.

    Args:
        reading: what the gauge says now. [m]
        wanted: what it should say. [m]
        thread: of the screw.
        clockwise_effect: whether clockwise raises or lowers the reading.
        uncertainty: standard uncertainty of `reading`. [m]
        ratio: change of the reading for one metre of screw travel, where a lever lies between. [-]
        name: of the screw, for the words.

    Raises:
        ValueError: ratio not positive, or uncertainty negative.

    >>> stop = thread_of("10-32")
    >>> turns_to_specification(5.08e-3, 4.7823e-3, stop, ClockwiseEffect.LOWERS, name="rich stop").words
    'turn the rich stop 1/4 + 1/8 turn clockwise, then measure again'
    """
    if not ratio > 0:
        raise ValueError(f"the lever ratio must be positive, got {ratio}")
    if uncertainty < 0:
        raise ValueError(f"an uncertainty cannot be negative, got {uncertainty} m")
    per_turn = thread.pitch * ratio
    turns = clockwise_effect.sign * (wanted - reading) / per_turn
    rounded = rounded_turns(turns)
    doubt = hypot(uncertainty / per_turn, TURNING_BY_HAND if rounded else 0.0)
    return TurnAdvice(
        turns=turns,
        uncertainty=doubt,
        travel=abs(turns) * thread.pitch,
        remaining=reading + clockwise_effect.sign * rounded * per_turn - wanted,
        reading_uncertainty=doubt * per_turn,
        words=_words(name, rounded, doubt),
    )


def turns_out_to_specification(
    reading: float, wanted: float, *, uncertainty: float = 0.0, name: str = "needle"
) -> TurnAdvice:
    """Turns for a right-handed screw whose setting is itself counted in turns out from lightly seated.

    Args:
        reading: turns out now. [turns]
        wanted: turns out specified. [turns]
        uncertainty: standard uncertainty of `reading`. [turns]
        name: of the screw, for the words.

    >>> turns_out_to_specification(3.5, 4.0, name="idle mixture needle").words
    'turn the idle mixture needle 1/2 turn counterclockwise, then measure again'
    """
    if uncertainty < 0:
        raise ValueError(f"an uncertainty cannot be negative, got {uncertainty} turns")
    turns = reading - wanted
    rounded = rounded_turns(turns)
    doubt = sqrt(uncertainty**2 + (TURNING_BY_HAND**2 if rounded else 0.0))
    return TurnAdvice(turns, doubt, 0.0, reading - rounded - wanted, doubt, _words(name, rounded, doubt))


def travel_of_turns(turns: float, thread: Thread) -> float:
    """Axial travel of a screw. [m]

    >>> round(travel_of_turns(3.776, thread_of("10-32")) / 0.0254, 3)
    0.118
    """
    return turns * thread.pitch
