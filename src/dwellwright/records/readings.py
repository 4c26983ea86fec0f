"""Readings of a job, in SI. A later one supersedes, an undone one is withdrawn, none is deleted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from math import isfinite
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.stages import Side
from dwellwright.records.tables import jobs, readings


@dataclass(frozen=True)
class ReadingRecord:
    """One observation as it was stored; `evidence` is None for one typed in by hand."""

    id: int
    job: int
    evidence: int | None
    side: Side
    observation: Observation
    added: datetime
    superseded_by: int | None
    withdrawn: datetime | None

    @property
    def stands(self) -> bool:
        """Whether it still counts."""
        return self.superseded_by is None and self.withdrawn is None


def _record(row: Row[Any]) -> ReadingRecord:
    seen = Observation(Measured(row.measured), Regime(row.regime), row.value, row.uncertainty, row.source,
                       row.wanted, row.time)  # fmt: skip
    return ReadingRecord(row.id, row.job, row.evidence, Side(row.stage), seen, row.added, row.superseded_by,
                         row.withdrawn)  # fmt: skip


def readings_of(connection: Connection, job: int, *, history: bool = False) -> list[ReadingRecord]:
    """The readings of a job that stand, in the order they came; all of them with `history`."""
    query = select(readings).where(readings.c.job == job).order_by(readings.c.id)
    if not history:
        query = query.where(readings.c.superseded_by.is_(None), readings.c.withdrawn.is_(None))
    return [_record(row) for row in connection.execute(query)]


def readings_of_closed(
    connection: Connection, side: Side, measured: Measured | None = None
) -> dict[int, list[ReadingRecord]]:
    """Standing readings on one side of every closed job, of one kind or of all, by its number, in one query."""
    query = (
        select(readings)
        .join(jobs, jobs.c.number == readings.c.job)
        .where(jobs.c.closed.is_not(None), readings.c.stage == side.value)
        .where(readings.c.superseded_by.is_(None), readings.c.withdrawn.is_(None))
        .order_by(readings.c.id)
    )
    if measured is not None:
        query = query.where(readings.c.measured == measured.value)
    found: dict[int, list[ReadingRecord]] = {}
    for row in connection.execute(query):
        found.setdefault(row.job, []).append(_record(row))
    return found


def _row(job: int, side: Side, seen: Observation, evidence: int | None) -> dict[str, Any]:
    if not (isfinite(seen.value) and isfinite(seen.uncertainty) and seen.uncertainty >= 0):
        raise ValueError(f"a stored reading needs finite numbers, got {seen.value} ± {seen.uncertainty}")
    return {"job": job, "evidence": evidence, "stage": side.value, "measured": seen.measured.value,
            "regime": seen.regime.value, "value": seen.value, "uncertainty": seen.uncertainty,
            "wanted": seen.wanted, "source": seen.source, "time": seen.time, "added": now()}  # fmt: skip


def store_observations(
    connection: Connection, job: int, side: Side, seen: Iterable[Observation], evidence: int
) -> int:
    """Add what one evidence file showed and return how many readings that were.

    Raises:
        ValueError: a number that is not finite, or an uncertainty below zero.
    """
    rows = [_row(job, side, one, evidence) for one in seen]
    if rows:
        connection.execute(insert(readings), rows)
    return len(rows)


def replace_observations(
    connection: Connection, job: int, side: Side, seen: Iterable[Observation], evidence: int
) -> int:
    """Withdraw what one evidence file showed and add what it shows on a second reading; return how many that are.

    Raises:
        ValueError: a number that is not finite, or an uncertainty below zero.
    """
    standing = (readings.c.evidence == evidence) & readings.c.withdrawn.is_(None)
    connection.execute(update(readings).where(standing).values(withdrawn=now()))
    return store_observations(connection, job, side, seen, evidence)


def store_reading(connection: Connection, job: int, side: Side, seen: Observation, who: str) -> int:
    """Add a typed reading, which supersedes an earlier typed one of the same thing, and return its identity.

    Raises:
        ValueError: a number that is not finite, or an uncertainty below zero.
    """
    same = (readings.c.job == job) & (readings.c.stage == side.value) & readings.c.evidence.is_(None)
    same &= (readings.c.measured == seen.measured.value) & (readings.c.regime == seen.regime.value)
    same &= readings.c.superseded_by.is_(None) & readings.c.withdrawn.is_(None)
    earlier = connection.execute(select(readings.c.id, readings.c.value).where(same).with_for_update()).all()
    identity = added_row(connection, readings, _row(job, side, seen, None))
    for row in earlier:
        connection.execute(update(readings).where(readings.c.id == row.id).values(superseded_by=identity))
    before = {"reading": earlier[-1].id, "value": earlier[-1].value} if earlier else None
    after = {"reading": identity, "measured": seen.measured, "regime": seen.regime, "value": seen.value,
             "uncertainty": seen.uncertainty, "side": side}  # fmt: skip
    record_change(connection, who, "reading added", job=job, before=before, after=after)
    return identity


def withdraw_last_reading(connection: Connection, job: int, who: str) -> ReadingRecord:
    """Take back the newest typed reading that stands; what it superseded counts again.

    Raises:
        InputFault: the job has no such reading.
    """
    typed = [record for record in readings_of(connection, job) if record.evidence is None]
    if not typed:
        raise InputFault("there is no typed reading to take back", where=f"job {job}")
    last = typed[-1]
    connection.execute(update(readings).where(readings.c.id == last.id).values(withdrawn=now()))
    revived = update(readings).where(readings.c.superseded_by == last.id).values(superseded_by=None)
    connection.execute(revived)
    gone = {"reading": last.id, "measured": last.observation.measured, "value": last.observation.value}
    record_change(connection, who, "reading withdrawn", job=job, before=gone)
    return last
