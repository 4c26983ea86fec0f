"""Calibrations of the shop's instruments. None is deleted: one taken back is marked so, and the one before counts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, select, update

from dwellwright.errors import InputFault
from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.tables import calibrations


@dataclass(frozen=True)
class KnownSizes:
    """One instrument held against known sizes. All in SI.

    Args:
        kind: key of the instrument in the catalogue.
        mark: which of its kind.
        day: when it was done.
        unit: that people read it in.
        truths: known sizes.
        readings: what the instrument said of each.
        size_doubt: standard uncertainty of the known sizes.
        source: name of the table it came from.
    """

    kind: str
    mark: str
    day: date
    unit: str
    truths: tuple[float, ...]
    readings: tuple[float, ...]
    size_doubt: float
    source: str


@dataclass(frozen=True)
class CalibrationRecord:
    """A calibration as it is kept."""

    id: int
    done: KnownSizes
    who: str
    added: datetime
    withdrawn: datetime | None


def _record(row: Row[Any]) -> CalibrationRecord:
    done = KnownSizes(row.kind, row.mark, date.fromisoformat(row.day), row.unit, tuple(row.truths),
                      tuple(row.readings), row.size_doubt, row.source)  # fmt: skip
    return CalibrationRecord(row.id, done, row.who, row.added, row.withdrawn)


def calibration_records(connection: Connection, *, history: bool = False) -> list[CalibrationRecord]:
    """Every calibration that was not taken back, in the order they came; all of them with `history`."""
    query = select(calibrations).order_by(calibrations.c.id)
    if not history:
        query = query.where(calibrations.c.withdrawn.is_(None))
    return [_record(row) for row in connection.execute(query)]


def store_calibration(connection: Connection, done: KnownSizes, who: str) -> int:
    """Add a calibration and return its identity."""
    row = {"kind": done.kind, "mark": done.mark, "day": done.day.isoformat(), "unit": done.unit,
           "truths": list(done.truths), "readings": list(done.readings), "size_doubt": done.size_doubt,
           "source": done.source, "who": who, "added": now()}  # fmt: skip
    identity = added_row(connection, calibrations, row)
    after = {"calibration": identity, **{key: row[key] for key in ("kind", "mark", "day", "source")}}
    record_change(connection, who, "calibration kept", after=after)
    return identity


def withdraw_calibration(connection: Connection, kind: str, mark: str, who: str) -> CalibrationRecord:
    """Take back the newest calibration of an instrument; the one before counts again.

    Raises:
        InputFault: the instrument has none.
    """
    own = [one for one in calibration_records(connection) if (one.done.kind, one.done.mark) == (kind, mark)]
    if not own:
        raise InputFault("there is no calibration to take back", where=f"{kind}:{mark}")
    last = own[-1]
    connection.execute(update(calibrations).where(calibrations.c.id == last.id).values(withdrawn=now()))
    gone = {"calibration": last.id, "kind": kind, "mark": mark, "day": last.done.day.isoformat()}
    record_change(connection, who, "calibration taken back", before=gone)
    return last
