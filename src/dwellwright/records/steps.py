"""Steps done on the bench and on the car."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select, update

from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.stages import Phase
from dwellwright.records.tables import steps


@dataclass(frozen=True)
class StepDone:
    """What was done at one step.

    Args:
        phase: on the bench or on the car.
        key: of the step.
        as_found: reading before. [SI; screws in turns]
        turns: what was turned, clockwise seen from the head is positive. [turns]
        as_left: reading after. [SI; screws in turns]
        passed: judged by eye: satisfied or not; None where a reading judges.
        minutes: time it took. [min]
        note: free words.
    """

    phase: Phase
    key: str
    as_found: float | None = None
    turns: float | None = None
    as_left: float | None = None
    passed: bool | None = None
    minutes: float | None = None
    note: str = ""


@dataclass(frozen=True)
class StepRecord:
    """A step done, by whom and when."""

    id: int
    job: int
    done: StepDone
    who: str
    time: datetime
    superseded_by: int | None


def _record(row: Row[Any]) -> StepRecord:
    done = StepDone(
        Phase(row.phase), row.key, row.as_found, row.turns, row.as_left, row.passed, row.minutes, row.note
    )
    return StepRecord(row.id, row.job, done, row.who, row.time, row.superseded_by)


def steps_of(connection: Connection, job: int, *, history: bool = False) -> list[StepRecord]:
    """The steps done in a job, in order; with `history` also those that a later entry superseded."""
    query = select(steps).where(steps.c.job == job).order_by(steps.c.id)
    if not history:
        query = query.where(steps.c.superseded_by.is_(None))
    return [_record(row) for row in connection.execute(query)]


def store_step(connection: Connection, job: int, done: StepDone, who: str, *, repeats: bool = False) -> int:
    """Write down a step and return its identity; it supersedes an earlier entry of the same step.

    Args:
        connection: a writing transaction.
        job: its number.
        done: what was done.
        who: who did it.
        repeats: this is one more move of the same screw, so that earlier entries stand too.
    """
    same = (steps.c.job == job) & (steps.c.phase == done.phase.value) & (steps.c.key == done.key)
    same &= steps.c.superseded_by.is_(None)
    earlier = connection.execute(select(steps).where(same).with_for_update()).all()
    values = {**asdict(done), "phase": done.phase.value, "job": job, "who": who, "time": now()}
    identity = added_row(connection, steps, values)
    if not repeats:
        for row in earlier:
            connection.execute(update(steps).where(steps.c.id == row.id).values(superseded_by=identity))
    before = asdict(_record(earlier[-1]).done) if earlier and not repeats else None
    record_change(connection, who, "step done", job=job, before=before, after=asdict(done))
    return identity
