"""Parts fitted and other lines with a price."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table of cost lines."""
    op.create_table(
        "costs",
        sa.Column("id", sa.Integer, autoincrement=True),
        sa.PrimaryKeyConstraint("id", name="pk_costs"),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("thousandths", sa.Integer, nullable=False),
        sa.Column("price", sa.Integer),
        sa.Column("step", sa.String(60), nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("added", TIME, nullable=False),
        sa.Column("withdrawn", TIME),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_costs_job"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_costs_job", "costs", ["job"])
