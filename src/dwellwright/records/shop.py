"""The shop folder: the records, the evidence files by their hash, and copies to fall back on."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from hashlib import file_digest, sha256
from pathlib import Path

from sqlalchemy import Engine

from dwellwright.errors import InputFault
from dwellwright.records.audit import now
from dwellwright.records.engine import shop_engine
from dwellwright.records.evidence import StoredFile
from dwellwright.records.migrating import is_current, migrate

RECORDS = "records.db"
FILES = "files"
BACKUPS = "backups"
_CHUNK = 1 << 20


@dataclass(frozen=True)
class Shop:
    """One shop: its folder and its database. Close it when done."""

    folder: Path
    engine: Engine

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def usual_folder() -> Path:
    """Where the shop's records lie when nobody says otherwise: the user's own data folder."""
    from platformdirs import user_data_path

    return user_data_path("dwellwright", appauthor=False)


def opened_shop(folder: Path | None = None, database: str | None = None) -> Shop:
    """The shop in that folder, made or brought up to date where need be.

    Args:
        folder: the shop folder; the user's data folder where None.
        database: address of the database; a SQLite file in the folder where None.

    Raises:
        InputFault: the folder or the database cannot be used, or was made by a newer program.
    """
    place = (folder or usual_folder()).expanduser().absolute()
    try:
        for part in (place, place / FILES):
            part.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise InputFault(
            "the shop folder cannot be used",
            where=str(place),
            wanted="a folder that can be written",
            got=fault.strerror or str(fault),
        ) from None
    engine = shop_engine(database or f"sqlite:///{place / RECORDS}")
    try:
        if not is_current(engine):
            if database is None:
                backup(place)
            migrate(engine)
    except BaseException:
        engine.dispose()
        raise
    return Shop(place, engine)


def backup(folder: Path) -> Path | None:
    """A whole copy of a shop's SQLite records, made while they may be in use; None if there are none."""
    source = folder / RECORDS
    if not source.exists() or source.stat().st_size == 0:
        return None
    (folder / BACKUPS).mkdir(exist_ok=True)
    target = folder / BACKUPS / f"records-{now():%Y%m%dT%H%M%S%f}.db"
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        if not old.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            target.unlink()
            return None
        old.backup(new)
    return target


def kept_file(shop: Shop, path: Path, name: str | None = None) -> StoredFile:
    """A file copied into the shop folder under its hash; whole or not at all.

    Raises:
        InputFault: the file cannot be read, or the shop folder not written.
    """
    total, size = sha256(), 0
    try:
        handle, draft = tempfile.mkstemp(dir=shop.folder / FILES, prefix="incoming-")
    except OSError as fault:
        raise InputFault(
            "the shop folder cannot be written", where=str(shop.folder), got=str(fault)
        ) from None
    try:
        with os.fdopen(handle, "wb") as copy, open(path, "rb") as original:
            while chunk := original.read(_CHUNK):
                total.update(chunk)
                size += len(chunk)
                copy.write(chunk)
            copy.flush()
            os.fsync(copy.fileno())
        digest = total.hexdigest()
        target = file_place(shop, digest)
        target.parent.mkdir(exist_ok=True)
        os.replace(draft, target)
    except OSError as fault:
        Path(draft).unlink(missing_ok=True)
        raise InputFault(
            "the file cannot be kept", where=str(path), got=fault.strerror or str(fault)
        ) from None
    return StoredFile(name or path.name, digest, size)


def file_place(shop: Shop, digest: str) -> Path:
    """Where the bytes of that hash lie.

    Raises:
        ValueError: not a SHA-256 in hexadecimal.
    """
    if len(digest) != 64 or set(digest) - set("0123456789abcdef"):
        raise ValueError(f"a SHA-256 in hexadecimal is wanted, got {digest!r}")
    return shop.folder / FILES / digest[:2] / digest


def damaged_files(shop: Shop) -> list[str]:
    """Hashes of kept files whose bytes no longer match them."""
    damaged = []
    for path in (shop.folder / FILES).glob("??/*"):
        with open(path, "rb") as kept:
            if file_digest(kept, "sha256").hexdigest() != path.name:
                damaged.append(path.name)
    return sorted(damaged)
