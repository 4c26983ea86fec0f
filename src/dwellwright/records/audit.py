"""The audit trail: who changed what, when, from what to what. It only grows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from threading import Lock
from typing import Any

from sqlalchemy import Connection, insert, select

from dwellwright.records.tables import audit


@dataclass(frozen=True)
class AuditEntry:
    """One change."""

    time: datetime
    who: str
    what: str
    job: int | None
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None


_LOCK = Lock()
_last = datetime.min.replace(tzinfo=UTC)
APART = timedelta(microseconds=100)
"""Least time between two moments of one program: what was written later also reads as later."""


def now() -> datetime:
    """This moment, in UTC; never before one that was given out, even where the machine's clock is set back."""
    global _last
    with _LOCK:
        _last = max(datetime.now(UTC), _last + APART)
        return _last


def record_change(
    connection: Connection,
    who: str,
    what: str,
    *,
    job: int | None = None,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> None:
    """Add one entry, in the same transaction as the change itself."""
    values = {"time": now(), "who": who, "what": what, "job": job, "before": before, "after": after}
    connection.execute(insert(audit).values(values))


def changes(connection: Connection, job: int | None = None) -> list[AuditEntry]:
    """Every entry, oldest first; of one job if it is named."""
    query = select(audit).order_by(audit.c.id)
    if job is not None:
        query = query.where(audit.c.job == job)
    rows = connection.execute(query)
    return [AuditEntry(row.time, row.who, row.what, row.job, row.before, row.after) for row in rows]
