"""The needle advisor for one job: its readings and moves on the car, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from dwellwright.carburetor.prediction import sensitivities
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.procedure.advisor import Action, Advice, needle_advice
from dwellwright.procedure.needle_task import Entry, NeedleTask, needle_task
from dwellwright.procedure.proof import latest
from dwellwright.records.readings import ReadingRecord
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.jobs import JobView
from dwellwright.service.readings import reading_history
from dwellwright.units import dwell_degrees, step_from_si

STEP = "idle_dwell"
"""Key of the step on the car that turns the idle needles."""

SPREAD = 0.5
"""Spread of a needle's effect between cars, over the model's own figure. Assumed. [-]"""


@dataclass(frozen=True)
class NeedleLine:
    """One reading in the order of the work: dwell with its doubt [deg], and the turns made just before it."""

    dwell: float
    doubt: float
    turned: float | None


@dataclass(frozen=True)
class NeedleAdvice:
    """What to do with the idle needles next, in words and degrees.

    Args:
        lines: readings so far, oldest first.
        advice: of the advisor.
        words: what to do, in one phrase.
        expected: dwell after it, nine times in ten. [deg]
        needles: how many there are.
        target: dwell wanted. [deg]
        tolerance: either way. [deg]
    """

    lines: tuple[NeedleLine, ...]
    advice: Advice
    words: str
    expected: tuple[float, float]
    needles: int
    target: float
    tolerance: float


def needle_advice_for(shop: Shop, view: JobView) -> NeedleAdvice:
    """The next turn of the idle needles of a job, from every reading and move since the unit went back on.

    Raises:
        InputFault: no such job.
    """
    slope = sensitivities(view.sheet.sheet)["idle_needle"]["idle"]
    task = needle_task(view.sheet.sheet, slope, SPREAD * abs(slope), _turns_out(view))
    read = _readings(view, reading_history(shop, view.job.number))
    moves = [(one.time, one.done.turns) for one in view.steps
             if one.done.phase is Phase.CAR and one.done.key == STEP and one.done.turns]  # fmt: skip
    entries = _entries(task, read, moves)
    advice = needle_advice(task, entries)
    turned = [None if not one.out else -sum(one.out) / len(one.out) for one in entries]
    lines = tuple(
        NeedleLine(dwell_degrees(one.duty), dwell_degrees(one.uncertainty), turns)
        for one, turns in zip(entries, turned, strict=True)
    )
    low, high = (dwell_degrees(end) for end in advice.interval)
    return NeedleAdvice(lines, advice, _words(advice), (low, high), task.needles, dwell_degrees(task.target),
                        dwell_degrees(task.tolerance))  # fmt: skip


def _turns_out(view: JobView) -> float | None:
    """How far the needles stand from their seats by the last count on the bench. [turns]"""
    for side in (Side.AS_LEFT, Side.AS_FOUND):
        seen = latest(view.observations(side), Measured.IDLE_NEEDLE, Regime.BENCH)
        if seen is not None:
            return step_from_si(seen.value, "turns")
    return None


def _readings(view: JobView, history: list[ReadingRecord]) -> list[tuple[datetime, float, float]]:
    """Time, duty and doubt of each idle dwell read on the car since the last turn on the bench, oldest first."""
    bench = [one.time for one in view.steps if one.done.phase is Phase.BENCH and one.done.turns]
    since = max(bench, default=None)
    seen = [
        (one.observation.time or one.added, one.observation.value, one.observation.uncertainty)
        for one in history
        if one.evidence is None
        and one.withdrawn is None
        and one.observation.measured is Measured.DUTY
        and one.observation.regime is Regime.IDLE
    ]
    return sorted(one for one in seen if since is None or one[0] > since)


def _entries(
    task: NeedleTask,
    read: list[tuple[datetime, float, float]],
    moves: Sequence[tuple[datetime, float | None]],
) -> list[Entry]:
    """Readings with the moves between them; what was turned before the first reading is forgotten with it."""
    entries: list[Entry] = []
    before: datetime | None = None
    for time, duty, doubt in read:
        turned = (
            0.0 if before is None else sum(turns or 0.0 for when, turns in moves if before < when <= time)
        )
        out = (-turned,) * task.needles if turned else ()
        entries.append(Entry(min(max(duty, 0.0), 1.0), max(doubt, 1e-4), out))
        before = time
    return entries


def _words(advice: Advice) -> str:
    if advice.action not in (Action.TURN, Action.BALANCE) or not advice.turns:
        return advice.action.value
    if advice.action is Action.BALANCE:
        return "; ".join(f"needle {number}: {turn}" for number, turn in enumerate(advice.turns, 1))
    which = "each needle" if len(advice.turns) > 1 else "the needle"
    way = "leaner" if advice.turns[0].turns > 0 else "richer"
    return f"turn {which} {advice.turns[0]}, {way}"
