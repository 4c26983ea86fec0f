"""Connections to the shop's database: one way to read, one way to write."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from typing import Any

from sqlalchemy import Connection, Engine, Table, create_engine, event, insert
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from dwellwright.errors import InputFault

BUSY_SECONDS = 30
"""How long a writer waits for another before it gives up; assumed, far above any write made here."""

POOL = 16
"""Connections kept open: opening one costs more than most pages, and those that open together wait for each other."""

_WRITES = "dwellwright_writes"


def shop_engine(url: str) -> Engine:
    """A pool of connections to the database at `url` (`sqlite:///FILE` or `postgresql+psycopg://...`).

    Raises:
        InputFault: the address is not one of a database that can be reached from here.
    """
    try:
        engine = create_engine(
            url, pool_size=POOL, json_serializer=partial(json.dumps, allow_nan=False, ensure_ascii=False)
        )
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError, ValueError) as fault:
        raise InputFault("the database address cannot be used", wanted="sqlite:///FILE or postgresql+psycopg://...",
                         got=str(fault).splitlines()[0]) from None  # fmt: skip
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, record: object) -> None:
    """Every new SQLite connection: explicit transactions, durable writes, foreign keys that hold."""
    connection.isolation_level = None  # else sqlite3 begins by itself, deferred, and writes are lost
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
    for setting in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        cursor.execute(f"PRAGMA {setting}")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that changes the records: all of it is kept, or, on any exception, none.

    Raises:
        InputFault: another program holds the records for too long, or they cannot be written.
    """
    try:
        with engine.connect().execution_options(**{_WRITES: True}) as connection, connection.begin():
            yield connection
    except DBAPIError as fault:
        raise _plain(fault, engine) from fault


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A view of the records at one moment.

    Raises:
        InputFault: the records cannot be read.
    """
    try:
        with engine.connect() as connection, connection.begin():
            yield connection
    except DBAPIError as fault:
        raise _plain(fault, engine) from fault


def added_row(connection: Connection, table: Table, values: Mapping[str, Any]) -> int:
    """Insert one row and return its identity."""
    key = connection.execute(insert(table).values(values)).inserted_primary_key
    if key is None:
        raise ValueError(f"{table.name} has no key of its own")
    return int(key[0])


_CAUSES = {
    "database is locked": ("another program holds the shop's records", "Close it and try again"),
    "not a database": ("the shop's records are damaged or not a database", "Put back a copy from `backups`"),
    "malformed": ("the shop's records are damaged", "Put back a copy from `backups`"),
    "readonly": ("the shop's records cannot be written", "Check who owns the shop folder"),
    "unable to open": ("the shop's records cannot be opened", "Check the shop folder and who owns it"),
    "disk is full": ("the disk is full", "Make room; what was being written was undone"),
    "connection failed": ("the database server does not answer", "Check its address and that it runs"),
}


def _plain(fault: DBAPIError, engine: Engine) -> Exception:
    """The fault a person can mend, where it is one; the programmer's otherwise."""
    text = str(fault.orig).lower()
    for sign, (what, remedy) in _CAUSES.items():
        if sign in text:
            return InputFault(what, where=engine.url.render_as_string(hide_password=True), remedy=remedy)
    return fault
