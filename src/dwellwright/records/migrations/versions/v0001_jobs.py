"""Jobs with their sheets, evidence, readings, steps, verdicts and the audit trail."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

TIME = sa.DateTime(timezone=True)


def _columns(*names: str, kind: Any, nullable: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, kind, nullable=nullable) for name in names]


def _table(name: str, *parts: Any, of_a_job: bool = True) -> None:
    own: list[Any] = [
        sa.Column("id", sa.Integer, autoincrement=True),
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
    ]
    if of_a_job:
        own.append(sa.Column("job", sa.Integer, nullable=False))
        own.append(sa.ForeignKeyConstraint(["job"], ["jobs.number"], name=f"fk_{name}_job"))
    op.create_table(name, *own, *parts, sqlite_autoincrement=True)
    if of_a_job:
        op.create_index(f"ix_{name}_job", name, ["job"])


def upgrade() -> None:
    """Make every table of the first layout."""
    _sheets_and_jobs()
    _evidence_and_readings()
    _steps_and_verdicts()
    _audit()


def _sheets_and_jobs() -> None:
    _table(
        "sheets",
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        *_columns("title", "text", "source", kind=sa.Text),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("added", TIME, nullable=False),
        sa.UniqueConstraint("name", "version", name="uq_sheets_name_version"),
        of_a_job=False,
    )
    op.create_table(
        "jobs",
        sa.Column("number", sa.Integer, autoincrement=True),
        sa.PrimaryKeyConstraint("number", name="pk_jobs"),
        sa.Column("created", TIME, nullable=False),
        *_columns("owner", "car", "complaint", kind=sa.Text),
        sa.Column("sheet", sa.Integer, nullable=False),
        sa.Column("stage", sa.String(20), nullable=False),
        sa.ForeignKeyConstraint(["sheet"], ["sheets.id"], name="fk_jobs_sheet"),
        sqlite_autoincrement=True,
    )


def _evidence_and_readings() -> None:
    _table(
        "evidence",
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("stage", sa.String(10), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("summary", sa.JSON, nullable=False),
        sa.Column("added", TIME, nullable=False),
        sa.UniqueConstraint("job", "sha256", "stage", name="uq_evidence_job_sha256_stage"),
    )
    _table(
        "readings",
        sa.Column("evidence", sa.Integer),
        sa.Column("stage", sa.String(10), nullable=False),
        sa.Column("measured", sa.String(40), nullable=False),
        sa.Column("regime", sa.String(20), nullable=False),
        *_columns("value", "uncertainty", kind=sa.Float),
        sa.Column("wanted", sa.Float),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("time", TIME),
        sa.Column("added", TIME, nullable=False),
        sa.Column("superseded_by", sa.Integer),
        sa.Column("withdrawn", TIME),
        sa.CheckConstraint("uncertainty >= 0", name="ck_readings_uncertainty_not_negative"),
        sa.ForeignKeyConstraint(["evidence"], ["evidence.id"], name="fk_readings_evidence"),
        sa.ForeignKeyConstraint(["superseded_by"], ["readings.id"], name="fk_readings_superseded_by"),
    )
    op.create_index("ix_readings_evidence", "readings", ["evidence"])


def _steps_and_verdicts() -> None:
    _table(
        "steps",
        sa.Column("phase", sa.String(10), nullable=False),
        sa.Column("key", sa.String(60), nullable=False),
        *_columns("as_found", "turns", "as_left", "minutes", kind=sa.Float, nullable=True),
        sa.Column("passed", sa.Boolean),
        *_columns("who", "note", kind=sa.Text),
        sa.Column("time", TIME, nullable=False),
        sa.Column("superseded_by", sa.Integer),
        sa.ForeignKeyConstraint(["superseded_by"], ["steps.id"], name="fk_steps_superseded_by"),
    )
    _table(
        "verdicts",
        sa.Column("stage", sa.String(10), nullable=False),
        sa.Column("made", TIME, nullable=False),
        sa.Column("version", sa.String(20), nullable=False),
        sa.Column("diagnosis", sa.JSON, nullable=False),
    )


def _audit() -> None:
    _table(
        "audit",
        sa.Column("time", TIME, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("what", sa.String(60), nullable=False),
        sa.Column("job", sa.Integer),
        sa.Column("before", sa.JSON),
        sa.Column("after", sa.JSON),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_audit_job"),
        of_a_job=False,
    )
    op.create_index("ix_audit_job", "audit", ["job"])
    refusal = "the audit trail only grows"
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(f"CREATE TRIGGER audit_no_{deed.lower()} BEFORE {deed} ON audit "
                       f"BEGIN SELECT RAISE(ABORT, '{refusal}'); END")  # fmt: skip
    else:
        op.execute("CREATE FUNCTION audit_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
                   f"$$ BEGIN RAISE EXCEPTION '{refusal}'; END $$")  # fmt: skip
        op.execute("CREATE TRIGGER audit_only_grows BEFORE UPDATE OR DELETE ON audit "
                   "FOR EACH ROW EXECUTE FUNCTION audit_only_grows()")  # fmt: skip
