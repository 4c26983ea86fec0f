"""Documents given out, and how a job ended."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table of documents; give jobs an end and what was found."""
    op.create_table(
        "documents",
        sa.Column("id", sa.Integer, autoincrement=True),
        sa.PrimaryKeyConstraint("id", name="pk_documents"),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("facts", sa.JSON, nullable=False),
        sa.Column("made", TIME, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_documents_job"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_documents_job", "documents", ["job"])
    op.add_column("jobs", sa.Column("closed", TIME))
    op.add_column("jobs", sa.Column("found", sa.JSON))
