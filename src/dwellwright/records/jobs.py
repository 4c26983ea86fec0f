"""Jobs: one car in the shop, from arrival to handover."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select, update

from dwellwright.errors import InputFault
from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.stages import JobStage
from dwellwright.records.tables import jobs


@dataclass(frozen=True)
class Arrival:
    """What is written down when a car comes in."""

    owner: str
    car: str
    complaint: str


@dataclass(frozen=True)
class JobRecord:
    """One job as it stands."""

    number: int
    created: datetime
    owner: str
    car: str
    complaint: str
    sheet: int
    stage: JobStage
    closed: datetime | None
    found: Sequence[Mapping[str, Any]] | None


def _record(row: Row[Any]) -> JobRecord:
    return JobRecord(row.number, row.created, row.owner, row.car, row.complaint, row.sheet,
                     JobStage(row.stage), row.closed, row.found)  # fmt: skip


def store_job(connection: Connection, arrival: Arrival, sheet: int, who: str) -> int:
    """Open a job on a stored sheet version and return its number."""
    words = {"owner": arrival.owner, "car": arrival.car, "complaint": arrival.complaint, "sheet": sheet}
    row = {**words, "created": now(), "stage": JobStage.ARRIVAL.value}
    number = added_row(connection, jobs, row)
    record_change(connection, who, "job opened", job=number, after=words)
    return number


def job_record(connection: Connection, number: int) -> JobRecord:
    """The job of that number.

    Raises:
        InputFault: there is none.
    """
    row = connection.execute(select(jobs).where(jobs.c.number == number)).first()
    if row is None:
        raise InputFault("no such job", got=f"job {number}", remedy="The list of jobs shows those there are")
    return _record(row)


def job_records(connection: Connection) -> list[JobRecord]:
    """Every job, newest first."""
    return [_record(row) for row in connection.execute(select(jobs).order_by(jobs.c.number.desc()))]


def advance_job(connection: Connection, number: int, stage: JobStage, who: str) -> None:
    """Move a job forward to a stage; one that is there or past it stays where it is."""
    before = job_record(connection, number).stage
    if stage.rank <= before.rank:
        return
    connection.execute(update(jobs).where(jobs.c.number == number).values(stage=stage.value))
    record_change(
        connection, who, "job advanced", job=number, before={"stage": before}, after={"stage": stage}
    )


def change_job(connection: Connection, number: int, changed: Mapping[str, Any], who: str) -> None:
    """Correct the words or the sheet of a job; the old ones stay in the audit trail.

    Raises:
        ValueError: a column that is not a person's to change.
    """
    if odd := set(changed) - {"owner", "car", "complaint", "sheet"}:
        raise ValueError(f"these columns of a job are not changed by hand: {', '.join(sorted(odd))}")
    record = job_record(connection, number)
    before = {name: getattr(record, name) for name in changed if getattr(record, name) != changed[name]}
    if before:
        after = {name: changed[name] for name in before}
        connection.execute(update(jobs).where(jobs.c.number == number).values(**after))
        record_change(connection, who, "job corrected", job=number, before=before, after=after)


def close_job(connection: Connection, number: int, found: Sequence[Mapping[str, Any]], who: str) -> None:
    """End a job with the causes that were confirmed; later jobs may learn from them."""
    causes = [dict(cause) for cause in found]
    values = {"closed": now(), "found": causes, "stage": JobStage.HANDED_OVER.value}
    connection.execute(update(jobs).where(jobs.c.number == number).values(values))
    record_change(connection, who, "job closed", job=number, after={"found": causes})
