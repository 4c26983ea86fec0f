"""Verdicts a job was given and documents it was handed, with what they were made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from dwellwright import __version__
from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.stages import Side
from dwellwright.records.tables import documents, verdicts


@dataclass(frozen=True)
class VerdictRecord:
    """One diagnosis, as it was said."""

    id: int
    side: Side
    made: datetime
    version: str
    diagnosis: Mapping[str, Any]


@dataclass(frozen=True)
class DocumentRecord:
    """One document given out; its bytes lie in the shop folder."""

    id: int
    kind: str
    name: str
    sha256: str
    made: datetime


def store_verdict(
    connection: Connection, job: int, side: Side, diagnosis: Mapping[str, Any], who: str
) -> int:
    """Keep a diagnosis and return its identity."""
    row = {
        "job": job,
        "stage": side.value,
        "made": now(),
        "version": __version__,
        "diagnosis": dict(diagnosis),
    }
    identity = added_row(connection, verdicts, row)
    record_change(connection, who, "verdict given", job=job, after={"verdict": identity, "side": side})
    return identity


def last_verdict(connection: Connection, job: int, side: Side) -> VerdictRecord | None:
    """The newest diagnosis of one side of a job, or None."""
    query = select(verdicts).where(verdicts.c.job == job, verdicts.c.stage == side.value)
    row = connection.execute(query.order_by(verdicts.c.id.desc()).limit(1)).first()
    return VerdictRecord(row.id, Side(row.stage), row.made, row.version, row.diagnosis) if row else None


def store_document(
    connection: Connection, job: int, kind: str, name: str, sha256: str, facts: Mapping[str, Any], who: str
) -> int:
    """Keep the record of a document given out and return its identity."""
    row = {"job": job, "kind": kind, "name": name, "sha256": sha256, "facts": dict(facts), "made": now()}
    identity = added_row(connection, documents, row)
    record_change(
        connection, who, "document made", job=job, after={"kind": kind, "name": name, "sha256": sha256}
    )
    return identity


def documents_of(connection: Connection, job: int) -> list[DocumentRecord]:
    """Every document of a job, oldest first."""
    rows = connection.execute(select(documents).where(documents.c.job == job).order_by(documents.c.id))
    return [DocumentRecord(row.id, row.kind, row.name, row.sha256, row.made) for row in rows]
