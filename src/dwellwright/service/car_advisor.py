"""The advisor on the car for one job: readings and moves of one screw, and what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from dwellwright.carburetor.prediction import sensitivities
from dwellwright.catalogue.car_screws import CarScrew, Trouble, car_screws
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.procedure.advisor import Action, Advice, needle_advice
from dwellwright.procedure.needle_task import Entry, NeedleTask, screw_task
from dwellwright.procedure.proof import latest
from dwellwright.records.readings import ReadingRecord
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.records.steps import StepRecord
from dwellwright.service.jobs import JobView
from dwellwright.service.readings import reading_history
from dwellwright.units import step_from_si

MOST_SUSPECTS = 3
"""Causes named when a screw cannot reach its figure."""


@dataclass(frozen=True)
class AdviceLine:
    """One reading in the order of the work.

    Args:
        value, doubt: reading and its standard uncertainty, in the screw's unit.
        turned: turns made just before it on each screw, clockwise positive; empty for none.
        roughness: how the idle felt, 0 smooth to 3 shaking, if noted.
    """

    value: float
    doubt: float
    turned: tuple[float, ...]
    roughness: float | None


@dataclass(frozen=True)
class ScrewAdvice:
    """What to do with one screw on the car next, in words and the unit of its reading.

    Args:
        name: of the screw.
        screw: what it is.
        lines: readings so far, oldest first.
        advice: of the advisor.
        words: what to do, in one phrase.
        expected: reading after it: lowest, likeliest, highest, nine times in ten.
        sensitivity: change of the reading for one turn out, this car, and its standard uncertainty.
        screws: how many are turned together.
        target, tolerance: wanted.
        points_to: what it means that the screw cannot do it; empty otherwise.
        suspects: causes to look at then, with their chance where the job was diagnosed.
    """

    name: str
    screw: CarScrew
    lines: tuple[AdviceLine, ...]
    advice: Advice
    words: str
    expected: tuple[float, float, float]
    sensitivity: tuple[float, float]
    screws: int
    target: float
    tolerance: float
    points_to: str
    suspects: tuple[str, ...]


def screw_named(name: str) -> CarScrew:
    """One screw of the catalogue.

    Raises:
        InputFault: no such screw.
    """
    if name not in car_screws():
        raise InputFault("no such screw to set on the car", got=repr(name), wanted=", ".join(car_screws()))
    return car_screws()[name]


def advised_screws(view: JobView) -> list[str]:
    """Screws that the job's sheet gives a figure for."""
    return [name for name, one in car_screws().items()
            if one.reading == Measured.DUTY or one.setting in view.sheet.sheet.settings]  # fmt: skip


def screw_advice(shop: Shop, view: JobView, name: str = "idle_needle") -> ScrewAdvice:
    """The next turn of one screw on the car, from every reading and move since anything else moved its reading.

    Raises:
        InputFault: no such job or screw, or the sheet gives no figure for it.
    """
    screw = screw_named(name)
    if name not in advised_screws(view):
        raise InputFault("the sheet gives no figure for this", where=view.sheet.title, got=screw.setting)
    task = _task(view, name, screw)
    entries = _entries(task, screw, view, reading_history(shop, view.job.number))
    advice = needle_advice(task, entries)
    scale, trouble = screw.full_scale, advice.cause
    return ScrewAdvice(
        name=name,
        screw=screw,
        lines=tuple(_line(one, scale) for one in entries),
        advice=advice,
        words=_words(advice, screw),
        expected=(scale * advice.interval[0], scale * advice.expected, scale * advice.interval[1]),
        sensitivity=(scale * advice.sensitivity[0], scale * advice.sensitivity[1]),
        screws=task.needles,
        target=scale * task.target,
        tolerance=scale * task.tolerance,
        points_to=screw.points_to[trouble] if trouble else "",
        suspects=_suspects(view, screw, trouble) if trouble else (),
    )


def _task(view: JobView, name: str, screw: CarScrew) -> NeedleTask:
    sheet = view.sheet.sheet
    slope = sensitivities(sheet)[name]["idle"] if screw.per_turn == "model" else None
    return screw_task(sheet, screw, slope, _turns_out(view, screw))


def _turns_out(view: JobView, screw: CarScrew) -> float | None:
    """How far it stands from its seat by the last count on the bench. [turns]"""
    if screw.setting not in ("idle_needle", "idle_bleed"):
        return None
    for side in (Side.AS_LEFT, Side.AS_FOUND):
        seen = latest(view.observations(side), Measured(screw.setting), Regime.BENCH)
        if seen is not None:
            return step_from_si(seen.value, "turns")
    return None


def _stale_before(view: JobView, screw: CarScrew) -> datetime | None:
    """When something else that acts on the same reading was last turned."""
    rivals = {one.step for one in car_screws().values() if one.reading == screw.reading} - {screw.step}
    moved = [one.time for one in view.steps
             if one.done.turns and (one.done.phase is Phase.BENCH or one.done.key in rivals)]  # fmt: skip
    return max(moved, default=None)


def _entries(
    task: NeedleTask, screw: CarScrew, view: JobView, history: Sequence[ReadingRecord]
) -> list[Entry]:
    """Readings with the moves between them; what was turned before the first reading is forgotten with it."""
    entries: list[Entry] = []
    before: datetime | None = None
    felt = dict(_typed(history, Measured.IDLE_ROUGHNESS))
    since = _stale_before(view, screw)
    for time, record in _typed(history, Measured(screw.reading)):
        if since is not None and time <= since:
            continue
        out = () if before is None else _out(view.steps, screw, before, time, task.needles)
        seen, rough = record.observation, felt.get(time)
        share = seen.value if screw.reading == Measured.DUTY else seen.value / screw.full_scale
        doubt = seen.uncertainty if screw.reading == Measured.DUTY else seen.uncertainty / screw.full_scale
        feel = rough.observation.value if rough else None
        entries.append(Entry(min(max(share, 0.0), 1.0), min(max(doubt, 1e-4), 0.5), out, feel))
        before = time
    return entries


def _typed(history: Sequence[ReadingRecord], measured: Measured) -> Iterator[tuple[datetime, ReadingRecord]]:
    """Readings of that at idle, typed in by hand and not taken back, oldest first."""
    chosen = [
        (one.observation.time or one.added, one)
        for one in history
        if one.evidence is None and one.withdrawn is None
        and one.observation.measured is measured and one.observation.regime is Regime.IDLE
    ]  # fmt: skip
    return iter(sorted(chosen, key=lambda pair: pair[0]))


def _out(
    steps: Sequence[StepRecord], screw: CarScrew, after: datetime, until: datetime, needles: int
) -> tuple[float, ...]:
    """Turns out of each screw between two readings; a trim turns the first in by what it turns the second out."""
    made = [one.done for one in steps
            if one.done.phase is Phase.CAR and one.done.turns and after < one.time <= until]  # fmt: skip
    common = sum(one.turns or 0.0 for one in made if one.key == screw.step)
    trim = sum(one.turns or 0.0 for one in made if one.key == screw.trim_step)
    if not common and not trim:
        return ()
    return (-common,) if needles == 1 else (-common - trim, -common + trim)


def _line(entry: Entry, scale: float) -> AdviceLine:
    turned = tuple(-turns for turns in entry.out)
    return AdviceLine(scale * entry.duty, scale * entry.uncertainty, turned, entry.roughness)


def _words(advice: Advice, screw: CarScrew) -> str:
    if advice.action in (Action.READ, Action.READ_AGAIN):
        return f"read {screw.read}" + (" again" if advice.action is Action.READ_AGAIN else "")
    if advice.action is Action.BALANCE:
        return "balance: " + "; ".join(
            f"{which} needle {turn}" for which, turn in zip(("first", "second"), advice.turns, strict=True)
        )
    if advice.action is not Action.TURN or not advice.turns:
        return advice.action.value
    which = f"each {screw.title.lower()}" if len(advice.turns) > 1 else f"the {screw.title.lower()}"
    if screw.reading != Measured.DUTY:
        which += "'s screw"
    way = screw.inward if advice.turns[0].turns > 0 else screw.out
    return f"turn {which} {advice.turns[0]}" + (f", {way}" if screw.reading == Measured.DUTY else "")


def _suspects(view: JobView, screw: CarScrew, trouble: Trouble) -> tuple[str, ...]:
    """Causes that would do this, the likeliest by the job's own diagnosis first."""
    verdict = view.as_left_verdict or view.as_found_verdict
    chances = {one["id"]: one["probability"] for one in verdict.diagnosis["causes"]} if verdict else {}
    causes = shipped_causes()
    ranked = sorted(screw.suspects[trouble], key=lambda name: -chances.get(name, causes[name].prior))
    return tuple(
        causes[name].title + (f" ({chances[name]:.0%})" if name in chances else "")
        for name in ranked[:MOST_SUSPECTS]
    )
