"""The tables as they stand today; `migrations` brings an older database here, and a test compares the two."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class UtcTime(TypeDecorator[datetime]):
    """A moment, stored in UTC and read back in UTC; a time without a zone is refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """The moment as the database keeps it."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a stored time needs its zone, got {value.isoformat()}")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """The moment in UTC; SQLite keeps no zone, PostgreSQL answers in the session's."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True, autoincrement=True)


def _job() -> Column[Any]:
    return Column("job", Integer, ForeignKey("jobs.number"), nullable=False, index=True)


sheets = Table(
    "sheets", METADATA,
    _id(),
    Column("name", String(120), nullable=False),
    Column("version", Integer, nullable=False),
    Column("title", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("source", Text, nullable=False),
    Column("added", UtcTime, nullable=False),
    UniqueConstraint("name", "version", name="uq_sheets_name_version"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Every version of every spec sheet, as TOML text; a version is never edited."""

jobs = Table(
    "jobs", METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("created", UtcTime, nullable=False),
    Column("owner", Text, nullable=False),
    Column("car", Text, nullable=False),
    Column("complaint", Text, nullable=False),
    Column("sheet", Integer, ForeignKey("sheets.id"), nullable=False),
    Column("stage", String(20), nullable=False),
    Column("closed", UtcTime),
    Column("found", JSON(none_as_null=True)),
    sqlite_autoincrement=True,
)  # fmt: skip
"""One car in the shop. `found` holds the confirmed causes of a closed job; later jobs may learn from them."""

evidence = Table(
    "evidence", METADATA,
    _id(),
    _job(),
    Column("name", Text, nullable=False),
    Column("kind", String(20), nullable=False),
    Column("stage", String(10), nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("size", Integer, nullable=False),
    Column("summary", JSON, nullable=False),
    Column("added", UtcTime, nullable=False),
    UniqueConstraint("job", "sha256", "stage", name="uq_evidence_job_sha256_stage"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Files that came with a job; their bytes lie in the shop folder under their hash."""

readings = Table(
    "readings", METADATA,
    _id(),
    _job(),
    Column("evidence", Integer, ForeignKey("evidence.id"), index=True),
    Column("stage", String(10), nullable=False),
    Column("measured", String(40), nullable=False),
    Column("regime", String(20), nullable=False),
    Column("value", Float, nullable=False),
    Column("uncertainty", Float, nullable=False),
    Column("wanted", Float),
    Column("source", Text, nullable=False),
    Column("time", UtcTime),
    Column("added", UtcTime, nullable=False),
    Column("superseded_by", Integer, ForeignKey("readings.id")),
    Column("withdrawn", UtcTime),
    CheckConstraint("uncertainty >= 0", name="uncertainty_not_negative"),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Observations in SI. None is deleted: a later one supersedes an earlier one, an undone one is withdrawn."""

steps = Table(
    "steps", METADATA,
    _id(),
    _job(),
    Column("phase", String(10), nullable=False),
    Column("key", String(60), nullable=False),
    Column("as_found", Float),
    Column("turns", Float),
    Column("passed", Boolean),
    Column("as_left", Float),
    Column("who", Text, nullable=False),
    Column("minutes", Float),
    Column("note", Text, nullable=False),
    Column("time", UtcTime, nullable=False),
    Column("superseded_by", Integer, ForeignKey("steps.id")),
    sqlite_autoincrement=True,
)  # fmt: skip
"""What was done at each bench or on-car step; values in SI, screws in turns."""

verdicts = Table(
    "verdicts", METADATA,
    _id(),
    _job(),
    Column("stage", String(10), nullable=False),
    Column("made", UtcTime, nullable=False),
    Column("version", String(20), nullable=False),
    Column("diagnosis", JSON, nullable=False),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Every diagnosis a job was given, with the version of the tool that gave it."""

documents = Table(
    "documents", METADATA,
    _id(),
    _job(),
    Column("kind", String(20), nullable=False),
    Column("name", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("facts", JSON, nullable=False),
    Column("made", UtcTime, nullable=False),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Handover sheets and bench cards as they were given out, with the facts they were made from."""

costs = Table(
    "costs", METADATA,
    _id(),
    _job(),
    Column("kind", String(10), nullable=False),
    Column("words", Text, nullable=False),
    Column("thousandths", Integer, nullable=False),
    Column("price", Integer),
    Column("step", String(60), nullable=False),
    Column("who", Text, nullable=False),
    Column("added", UtcTime, nullable=False),
    Column("withdrawn", UtcTime),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Parts fitted and other priced lines: how many, in thousandths, and the price of one in the smallest coin."""

calibrations = Table(
    "calibrations", METADATA,
    _id(),
    Column("kind", String(60), nullable=False),
    Column("mark", Text, nullable=False),
    Column("day", String(10), nullable=False),
    Column("unit", String(20), nullable=False),
    Column("truths", JSON, nullable=False),
    Column("readings", JSON, nullable=False),
    Column("size_doubt", Float, nullable=False),
    Column("source", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("added", UtcTime, nullable=False),
    Column("withdrawn", UtcTime),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Checks of the shop's instruments against known sizes, in SI; none is deleted, an undone one is withdrawn."""

audit = Table(
    "audit", METADATA,
    _id(),
    Column("time", UtcTime, nullable=False),
    Column("who", Text, nullable=False),
    Column("what", String(60), nullable=False),
    Column("job", Integer, ForeignKey("jobs.number"), index=True),
    Column("before", JSON(none_as_null=True)),
    Column("after", JSON(none_as_null=True)),
    sqlite_autoincrement=True,
)  # fmt: skip
"""Who changed what, when; triggers refuse an update or a deletion."""
