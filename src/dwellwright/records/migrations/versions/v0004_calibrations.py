"""Checks of the shop's instruments against known sizes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table of calibrations."""
    op.create_table(
        "calibrations",
        sa.Column("id", sa.Integer, autoincrement=True),
        sa.PrimaryKeyConstraint("id", name="pk_calibrations"),
        sa.Column("kind", sa.String(60), nullable=False),
        sa.Column("mark", sa.Text, nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("unit", sa.String(20), nullable=False),
        sa.Column("truths", sa.JSON, nullable=False),
        sa.Column("readings", sa.JSON, nullable=False),
        sa.Column("size_doubt", sa.Float, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("added", TIME, nullable=False),
        sa.Column("withdrawn", TIME),
        sqlite_autoincrement=True,
    )
