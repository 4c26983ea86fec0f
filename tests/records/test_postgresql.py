"""The same records in PostgreSQL. Runs where DWELLWRIGHT_TEST_POSTGRESQL names an empty database and psycopg is there.

DWELLWRIGHT_TEST_POSTGRESQL=postgresql+psycopg://user@host/empty pytest tests/records/test_postgresql.py
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import delete, text
from sqlalchemy.dialects import postgresql
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.schema import CreateTable

from dwellwright.catalogue.sheet_file import archetype_texts
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records import audit, jobs, readings, sheets, tables
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop, opened_shop
from dwellwright.records.stages import Side

URL = os.environ.get("DWELLWRIGHT_TEST_POSTGRESQL", "")
needs_server = pytest.mark.skipif(not URL, reason="DWELLWRIGHT_TEST_POSTGRESQL names no database")
WHO = "tester"


def test_every_table_can_be_written_for_postgresql() -> None:
    dialect = postgresql.dialect()  # type: ignore[no-untyped-call]
    for table in tables.METADATA.sorted_tables:
        assert f"CREATE TABLE {table.name}" in str(CreateTable(table).compile(dialect=dialect))


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    shop = opened_shop(tmp_path, URL)
    yield shop
    with writing(shop.engine) as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    shop.close()


@needs_server
def test_migrations_end_at_the_tables_and_the_audit_trail_only_grows(shop: Shop) -> None:
    with reading(shop.engine) as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables.METADATA) == []
    with writing(shop.engine) as connection:
        audit.record_change(connection, WHO, "test", after={"number": 1})
    with pytest.raises(DBAPIError, match="only grows"), writing(shop.engine) as connection:
        connection.execute(delete(tables.audit))


@needs_server
def test_jobs_and_readings_come_back(shop: Shop) -> None:
    name, sheet = next(iter(archetype_texts().items()))
    seen = Observation(Measured.DUTY, Regime.IDLE, 0.4, 0.01, "dwell meter", 0.5)
    with writing(shop.engine) as connection:
        stored = sheets.store_sheet(connection, name, sheet, "invented", WHO)
        job = jobs.store_job(connection, jobs.Arrival("an owner", "a car", "it hunts"), stored.id, WHO)
        first = readings.store_reading(connection, job, Side.AS_FOUND, seen, WHO)
        readings.store_reading(connection, job, Side.AS_FOUND, seen, WHO)
        readings.withdraw_last_reading(connection, job, WHO)
        assert [one.id for one in readings.readings_of(connection, job)] == [first]
        assert readings.readings_of(connection, job)[0].observation == seen
    with pytest.raises(IntegrityError, match="foreign key"), writing(shop.engine) as connection:
        jobs.store_job(connection, jobs.Arrival("o", "c", "w"), 4711, WHO)


@needs_server
def test_four_writers_lose_nothing(shop: Shop) -> None:
    def write(writer: int) -> None:
        for turn in range(25):
            with writing(shop.engine) as connection:
                audit.record_change(connection, f"writer {writer}", "test", after={"turn": turn})

    writers = [threading.Thread(target=write, args=(number,)) for number in range(4)]
    for thread in writers:
        thread.start()
    for thread in writers:
        thread.join()
    with reading(shop.engine) as connection:
        assert len(audit.changes(connection)) == 100


@needs_server
def test_a_server_that_does_not_answer_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="database server does not answer"):
        opened_shop(tmp_path, "postgresql+psycopg://nobody@localhost:1/none")
