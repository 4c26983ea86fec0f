"""From a reading that is out to what a hand should do about it."""

from __future__ import annotations

from dataclasses import dataclass

from dwellwright.catalogue.sheet import Setting, Turning
from dwellwright.evidence.gauge.turns import (
    ClockwiseEffect,
    Thread,
    turns_out_to_specification,
    turns_to_specification,
)
from dwellwright.evidence.observation import Observation
from dwellwright.procedure.figure import Figure
from dwellwright.procedure.hand import HandTurn, hand_turn
from dwellwright.procedure.judgement import Verdict
from dwellwright.units import Dimension


@dataclass(frozen=True)
class Correction:
    """How far a reading must move, and the turn that moves it.

    Args:
        change: wanted minus read. [unit of the reading, SI]
        exact_turns: clockwise positive; None without a thread on the sheet. [turns]
        turns_uncertainty: standard uncertainty of `exact_turns`, reading and hand together. [turns]
        turn: the same as a hand can do it.
        expected: reading to expect after that turn. [SI]
        richer: whether the move makes the mixture richer; None when it does neither.
        direction_in_doubt: the reading is so uncertain that even the direction is.
    """

    change: float
    exact_turns: float | None = None
    turns_uncertainty: float = 0.0
    turn: HandTurn | None = None
    expected: float | None = None
    richer: bool | None = None
    direction_in_doubt: bool = False


def correction_of(
    reading: Observation | None, figure: Figure | None, setting: Setting | None, verdict: Verdict
) -> Correction | None:
    """What brings a reading to its figure; None when it is in, unread, or there is no figure."""
    if reading is None or figure is None or verdict in (Verdict.IN, Verdict.NOT_READ):
        return None
    change = figure.value - reading.value
    richer = None
    if setting is not None and setting.richer_when != "neither":
        richer = (change > 0) == (setting.richer_when == "higher")
    doubtful = abs(change) < 2 * reading.uncertainty
    if setting is None or setting.clockwise is None or _travel_per_turn(setting) is None:
        return Correction(change, richer=richer, direction_in_doubt=doubtful)
    return _turned(reading, figure, setting, richer)


def _travel_per_turn(setting: Setting) -> float | None:
    """Change of the reading for one turn. [SI; turns for a screw counted in turns]"""
    if setting.wanted.dimension is Dimension.TURNS:
        return 1.0
    return setting.thread.travel_per_turn if setting.thread is not None else None


def _turned(reading: Observation, figure: Figure, setting: Setting, richer: bool | None) -> Correction:
    per_turn = _travel_per_turn(setting) or 1.0
    effect = ClockwiseEffect(setting.clockwise.value if setting.clockwise else Turning.LOWERS.value)
    if setting.wanted.dimension is Dimension.TURNS:
        advice = turns_out_to_specification(reading.value, figure.value, uncertainty=reading.uncertainty)
    else:
        advice = turns_to_specification(
            reading.value, figure.value, Thread(per_turn), effect, uncertainty=reading.uncertainty
        )
    turn = hand_turn(advice.turns, figure.tolerance / per_turn)
    return Correction(
        change=figure.value - reading.value,
        exact_turns=advice.turns,
        turns_uncertainty=advice.uncertainty,
        turn=turn,
        expected=reading.value + effect.sign * turn.turns * per_turn,
        richer=richer,
        direction_in_doubt=abs(advice.turns) < 2 * advice.uncertainty,
    )
