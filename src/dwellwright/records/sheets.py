"""Spec sheets as the shop holds them: text with a version; nothing is overwritten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection, Row, func, select

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import parsed_sheet
from dwellwright.errors import InputFault
from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.tables import sheets


@dataclass(frozen=True)
class StoredSheet:
    """One version of one sheet."""

    id: int
    name: str
    version: int
    title: str
    text: str
    source: str
    added: datetime

    @property
    def sheet(self) -> SpecSheet:
        """The sheet itself."""
        return parsed_sheet(self.text, f"{self.name}, version {self.version}")


def _stored(row: Row[tuple[object, ...]]) -> StoredSheet:
    return StoredSheet(row.id, row.name, row.version, row.title, row.text, row.source, row.added)


def newest_sheet(connection: Connection, name: str) -> StoredSheet | None:
    """The newest version of the sheet of that name, or None."""
    query = select(sheets).where(sheets.c.name == name).order_by(sheets.c.version.desc()).limit(1)
    row = connection.execute(query).first()
    return _stored(row) if row else None


def sheet_version(connection: Connection, identity: int) -> StoredSheet:
    """The version stored under `identity`.

    Raises:
        InputFault: there is none.
    """
    row = connection.execute(select(sheets).where(sheets.c.id == identity)).first()
    if row is None:
        raise InputFault("no such spec sheet", got=str(identity))
    return _stored(row)


def newest_sheets(connection: Connection) -> list[StoredSheet]:
    """The newest version of every sheet, by name."""
    newest = (
        select(sheets.c.name, func.max(sheets.c.version).label("version")).group_by(sheets.c.name).subquery()
    )
    same = (sheets.c.name == newest.c.name) & (sheets.c.version == newest.c.version)
    return [
        _stored(row) for row in connection.execute(select(sheets).join(newest, same).order_by(sheets.c.name))
    ]


def store_sheet(connection: Connection, name: str, text: str, source: str, who: str) -> StoredSheet:
    """Keep a sheet under a name: a new version, or the newest one where the text is the same.

    Raises:
        InputFault: the text is not a spec sheet.
    """
    sheet = parsed_sheet(text, name)
    digest = sha256(text.encode()).hexdigest()
    newest = newest_sheet(connection, name)
    if newest and newest.text == text:
        return newest
    version = newest.version + 1 if newest else 1
    row = {"name": name, "version": version, "title": sheet.title, "text": text, "sha256": digest,
           "source": source, "added": now()}  # fmt: skip
    identity = added_row(connection, sheets, row)
    before = {"version": newest.version} if newest else None
    record_change(connection, who, "sheet stored", before=before, after={"name": name, "version": version})
    return sheet_version(connection, identity)
