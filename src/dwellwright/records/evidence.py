"""Evidence: the files of a job. The row says what was read; the bytes lie in the shop folder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select, update

from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.stages import Side
from dwellwright.records.tables import evidence


@dataclass(frozen=True)
class StoredFile:
    """Bytes kept in the shop folder."""

    name: str
    sha256: str
    size: int


@dataclass(frozen=True)
class EvidenceRecord:
    """One file of a job and what was read in it."""

    id: int
    job: int
    file: StoredFile
    kind: str
    side: Side
    summary: Mapping[str, Any]
    added: datetime


def _record(row: Row[Any]) -> EvidenceRecord:
    file = StoredFile(row.name, row.sha256, row.size)
    return EvidenceRecord(row.id, row.job, file, row.kind, Side(row.stage), row.summary, row.added)


def evidence_of(connection: Connection, job: int) -> list[EvidenceRecord]:
    """Every file of a job, in the order it came."""
    query = select(evidence).where(evidence.c.job == job).order_by(evidence.c.id)
    return [_record(row) for row in connection.execute(query)]


def same_evidence(connection: Connection, job: int, sha256: str, side: Side) -> EvidenceRecord | None:
    """The record of these very bytes on this side of the job, if they came before."""
    same = (evidence.c.job == job) & (evidence.c.sha256 == sha256) & (evidence.c.stage == side.value)
    row = connection.execute(select(evidence).where(same)).first()
    return _record(row) if row else None


def store_evidence(
    connection: Connection,
    job: int,
    file: StoredFile,
    kind: str,
    side: Side,
    summary: Mapping[str, Any],
    who: str,
) -> int:
    """Add a file to a job and return its identity."""
    row = {"job": job, "name": file.name, "sha256": file.sha256, "size": file.size, "kind": kind,
           "stage": side.value, "summary": dict(summary), "added": now()}  # fmt: skip
    identity = added_row(connection, evidence, row)
    after = {"name": file.name, "kind": kind, "sha256": file.sha256, "side": side.value}
    record_change(connection, who, "evidence added", job=job, after=after)
    return identity


def read_again(connection: Connection, record: EvidenceRecord, summary: Mapping[str, Any], who: str) -> None:
    """Put what a file says on a second reading in the place of what it said."""
    connection.execute(update(evidence).where(evidence.c.id == record.id).values(summary=dict(summary)))
    named = {"name": record.file.name, "side": record.side.value}
    before, after = (
        {**named, "polarity": facts.get("facts", {}).get("polarity")} for facts in (record.summary, summary)
    )
    record_change(connection, who, "evidence read again", job=record.job, before=before, after=after)
