"""The shop folder and its database: opening, migrating, refusing, keeping."""

from __future__ import annotations

import multiprocessing
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import delete, insert, inspect, select, text, update
from sqlalchemy.exc import IntegrityError, StatementError

from dwellwright.catalogue.sheet_file import archetype_texts
from dwellwright.errors import InputFault
from dwellwright.records import audit, jobs, migrating, sheets, tables
from dwellwright.records.engine import reading, shop_engine, writing
from dwellwright.records.shop import RECORDS, Shop, damaged_files, file_place, kept_file, opened_shop

WRITERS, WRITES = 4, 100


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    shop = opened_shop(tmp_path / "shop")
    yield shop
    shop.close()


def new_job(shop: Shop) -> int:
    name, sheet = next(iter(archetype_texts().items()))
    with writing(shop.engine) as connection:
        stored = sheets.store_sheet(connection, name, sheet, "invented", "tester")
        return jobs.store_job(connection, jobs.Arrival("an owner", "a car", "it hunts"), stored.id, "tester")


def test_migrations_end_at_the_tables_in_the_code(shop: Shop) -> None:
    with reading(shop.engine) as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables.METADATA) == []
        assert migrating.layout(connection) == migrating.REVISIONS[-1]


def test_the_known_layouts_are_the_migration_files() -> None:
    settings = Config()
    settings.set_main_option("script_location", "dwellwright.records:migrations")
    settings.set_main_option("path_separator", "os")
    steps = ScriptDirectory.from_config(settings).walk_revisions()
    assert tuple(step.revision for step in reversed(list(steps))) == migrating.REVISIONS


def test_a_database_of_the_previous_layout_keeps_its_rows_and_leaves_a_copy(tmp_path: Path) -> None:
    engine = shop_engine(f"sqlite:///{tmp_path / RECORDS}")
    migrating.migrate(engine, migrating.REVISIONS[-2])
    with writing(engine) as connection:
        connection.execute(text(
            "INSERT INTO sheets (name, version, title, text, source, sha256, added) "
            "VALUES ('s', 1, 't', 'x', 'y', 'z', '2024-05-01 00:00:00')"))  # fmt: skip
        connection.execute(text(
            "INSERT INTO jobs (created, owner, car, complaint, sheet, stage) "
            "VALUES ('2024-05-01 12:00:00.000000', 'an owner', 'a car', 'thirst', 1, 'bench')"))  # fmt: skip
    engine.dispose()
    shop = opened_shop(tmp_path)
    with reading(shop.engine) as connection:
        kept = jobs.job_record(connection, 1)
        assert migrating.layout(connection) == migrating.REVISIONS[-1]
    shop.close()
    assert (kept.complaint, kept.closed, kept.found) == ("thirst", None, None)
    copies = list((tmp_path / "backups").glob("*.db"))
    assert len(copies) == 1
    with closing(sqlite3.connect(copies[0])) as copy:
        assert (
            copy.execute("SELECT version_num FROM alembic_version").fetchone()[0] == migrating.REVISIONS[-2]
        )


def test_a_newer_database_is_refused_and_left_alone(shop: Shop) -> None:
    with writing(shop.engine) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    shop.close()
    before = (shop.folder / RECORDS).read_bytes()
    with pytest.raises(InputFault, match=r"newer Dwellwright .*layout 9999\. Update this program"):
        opened_shop(shop.folder)
    assert (shop.folder / RECORDS).read_bytes() == before


def test_what_is_not_a_database_is_refused(tmp_path: Path) -> None:
    (tmp_path / RECORDS).write_text("these are not records\n" * 100, encoding="utf-8")
    with pytest.raises(InputFault, match="damaged or not a database"):
        opened_shop(tmp_path)


def test_a_shop_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "shop").write_text("", encoding="utf-8")
    with pytest.raises(InputFault, match="shop folder cannot be used"):
        opened_shop(tmp_path / "shop")


@pytest.mark.parametrize("url", ["nonsense", "nosuchthing://x", "sqlite+nodriver:///x"])
def test_an_odd_database_address_is_refused(tmp_path: Path, url: str) -> None:
    with pytest.raises(InputFault, match="database address cannot be used"):
        opened_shop(tmp_path, url)


def test_connections_are_durable_and_hold_foreign_keys(shop: Shop) -> None:
    with reading(shop.engine) as connection:
        setting = {name: connection.execute(text(f"PRAGMA {name}")).scalar()
                   for name in ("journal_mode", "synchronous", "foreign_keys")}  # fmt: skip
    assert setting == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}  # 2 is FULL, SQLite manual


def test_a_job_on_a_missing_sheet_is_refused(shop: Shop) -> None:
    with pytest.raises(IntegrityError, match="FOREIGN KEY"), writing(shop.engine) as connection:
        jobs.store_job(connection, jobs.Arrival("o", "c", "w"), 4711, "tester")
    with reading(shop.engine) as connection:
        assert jobs.job_records(connection) == []


def test_the_audit_trail_only_grows(shop: Shop) -> None:
    new_job(shop)
    for deed in (delete(tables.audit), update(tables.audit).values(who="nobody")):
        with pytest.raises(IntegrityError, match="only grows"), writing(shop.engine) as connection:
            connection.execute(deed)
    with reading(shop.engine) as connection:
        assert [entry.what for entry in audit.changes(connection)] == ["sheet stored", "job opened"]


def _write_many(folder: Path, writer: int) -> None:
    shop = opened_shop(folder)
    for turn in range(WRITES):
        with writing(shop.engine) as connection:
            connection.execute(
                select(tables.audit.c.id).limit(1)
            ).all()  # read first: what a deferred begin loses
            audit.record_change(connection, f"writer {writer}", "test", after={"turn": turn})
    shop.close()


def test_four_processes_writing_at_once_lose_nothing(tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_write_many, args=(tmp_path, number)) for number in range(WRITERS)]
    for process in writers:
        process.start()
    for process in writers:
        process.join(120)
    assert [process.exitcode for process in writers] == [0] * WRITERS
    shop = opened_shop(tmp_path)
    with reading(shop.engine) as connection:
        entries = audit.changes(connection)
    shop.close()
    turns = {(entry.who, entry.after["turn"]) for entry in entries if entry.after}
    assert len(entries) == len(turns) == WRITERS * WRITES


def _die_in_the_middle(folder: Path) -> None:
    shop = opened_shop(folder)
    with writing(shop.engine) as connection:
        audit.record_change(connection, "victim", "half", after={})
        os._exit(9)


def test_a_killed_transaction_leaves_nothing(tmp_path: Path) -> None:
    opened_shop(tmp_path).close()
    victim = multiprocessing.get_context("spawn").Process(target=_die_in_the_middle, args=(tmp_path,))
    victim.start()
    victim.join(60)
    assert victim.exitcode == 9
    shop = opened_shop(tmp_path)
    with writing(shop.engine) as connection:
        assert audit.changes(connection) == []
        audit.record_change(connection, "next", "whole")
    with reading(shop.engine) as connection:
        assert [entry.who for entry in audit.changes(connection)] == ["next"]
    shop.close()


def test_an_exception_undoes_the_transaction(shop: Shop) -> None:
    def half() -> None:
        with writing(shop.engine) as connection:
            audit.record_change(connection, "x", "half")
            raise InputFault("half way")

    with pytest.raises(InputFault, match="half way"):
        half()
    with reading(shop.engine) as connection:
        assert audit.changes(connection) == []


def test_files_are_kept_by_their_hash_and_checked(shop: Shop, tmp_path: Path) -> None:
    source = tmp_path / "gas.csv"
    source.write_bytes(b"abc")
    kept = kept_file(shop, source)
    # SHA-256 of "abc": FIPS 180-2 appendix B.1
    assert kept.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    place = file_place(shop, kept.sha256)
    assert place.read_bytes() == b"abc"
    assert damaged_files(shop) == []
    place.write_bytes(b"abd")
    assert damaged_files(shop) == [kept.sha256]
    assert not list((shop.folder / "files").glob("incoming-*"))


def test_a_missing_file_is_refused_and_leaves_no_scrap(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="cannot be kept"):
        kept_file(shop, tmp_path / "nothing.csv")
    assert not list((shop.folder / "files").iterdir())


@pytest.mark.parametrize("digest", ["../../etc", "ab", "Z" * 64])
def test_a_hash_that_is_none_is_refused(shop: Shop, digest: str) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        file_place(shop, digest)


def test_every_table_is_there(shop: Shop) -> None:
    assert set(tables.METADATA.tables) <= set(inspect(shop.engine).get_table_names())


def test_json_that_is_not_a_number_is_refused(shop: Shop) -> None:
    row = {"time": audit.now(), "who": "x", "what": "y", "after": {"value": float("nan")}}
    with pytest.raises(StatementError, match="not JSON compliant"), writing(shop.engine) as connection:
        connection.execute(insert(tables.audit).values(row))
