"""Bringing a shop's database to the newest layout, and refusing one that is newer than this program."""

from __future__ import annotations

from sqlalchemy import Connection, Engine, inspect, text

from dwellwright.errors import InputFault
from dwellwright.records.engine import reading, writing

REVISIONS = ("0001", "0002", "0003", "0004")
"""Every layout there has been, oldest first; a test holds it against the migration files."""


def layout(connection: Connection) -> str | None:
    """The layout a database has, or None where it has none yet."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return str(found) if found is not None else None


def is_current(engine: Engine) -> bool:
    """Whether the database has the newest layout.

    Raises:
        InputFault: its layout is one that this program does not know.
    """
    with reading(engine) as connection:
        found = layout(connection)
    if found is not None and found not in REVISIONS:
        raise InputFault("the shop's records were made by a newer Dwellwright",
                         where=engine.url.render_as_string(hide_password=True),
                         wanted=f"layout {REVISIONS[-1]} or older", got=f"layout {found}",
                         remedy="Update this program; the records were left as they are")  # fmt: skip
    return found == REVISIONS[-1]


def migrate(engine: Engine, target: str = "head") -> None:
    """Bring the database to a layout, all steps in one transaction, safe when several programs start at once.

    Raises:
        InputFault: the database is newer than this program, or cannot be written.
    """
    from alembic import command  # slow to import, and almost never needed
    from alembic.config import Config

    is_current(engine)
    settings = Config()
    settings.set_main_option("script_location", "dwellwright.records:migrations")
    settings.set_main_option("path_separator", "os")
    with writing(engine) as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(2007000501)"))  # one program at a time
        settings.attributes["connection"] = connection
        command.upgrade(settings, target)
