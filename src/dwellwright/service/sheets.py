"""Spec sheets: checking, listing, finding, storing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dwellwright import __version__
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import (
    SheetFinding,
    archetype_for,
    archetype_texts,
    parsed_sheet,
    sheet_findings,
    sheet_schema,
    sheet_text,
)
from dwellwright.catalogue.sign_off import is_changed, sign_offs
from dwellwright.errors import InputFault
from dwellwright.records.engine import reading, writing
from dwellwright.records.sheets import StoredSheet, newest_sheet, store_sheet
from dwellwright.records.shop import Shop

SHIPPED = f"archetype shipped with Dwellwright {__version__}, invented"

_HEADING = """\
# Copied from the invented archetype {name}. Replace every number by the one in the service manual of your
# own unit, and every `source` by its page; set `invented = false` when nothing invented is left.
# `dwellwright sheet check FILE` says what is still wrong.

"""


@dataclass(frozen=True)
class SheetReport:
    """What checking a sheet's file found; `sheet` is None where there were findings."""

    file: str
    findings: tuple[SheetFinding, ...]
    sheet: SpecSheet | None


@dataclass(frozen=True)
class SheetLine:
    """A sheet in the list: stored in the shop (version from 1) or shipped with the tool (version 0)."""

    name: str
    version: int
    title: str
    source: str
    invented: bool


@dataclass(frozen=True)
class NamedSheet:
    """A sheet found by name or in a file."""

    name: str
    text: str
    source: str

    @property
    def sheet(self) -> SpecSheet:
        """The sheet itself."""
        return parsed_sheet(self.text, self.name)


def check_sheet(path: Path) -> SheetReport:
    """Everything wrong with a sheet's file, each with its line.

    Raises:
        InputFault: the file cannot be read at all.
    """
    text = sheet_text(path)
    findings = tuple(sheet_findings(text))
    return SheetReport(str(path), findings, None if findings else parsed_sheet(text, str(path)))


def schema_of_sheets() -> dict[str, Any]:
    """The JSON Schema of a spec sheet."""
    return sheet_schema()


def new_sheet(name: str | None = None, cylinders: int | None = None) -> str:
    """Text to start a sheet from: a copy of an archetype, by name or by the engine's cylinders.

    Raises:
        InputFault: no such archetype.
    """
    chosen = name or archetype_for(cylinders or 6)
    if chosen not in archetype_texts():
        raise InputFault("no such archetype", wanted=", ".join(archetype_texts()), got=repr(chosen))
    return _HEADING.format(name=chosen) + archetype_texts()[chosen]


def named_sheet(shop: Shop | None, name: str) -> NamedSheet:
    """A sheet by the name it has in the shop, by an archetype's name, or by its file.

    Raises:
        InputFault: there is none, or the file is not a sheet.
    """
    if found := _listed(shop, name):
        return found
    path = Path(name)
    if path.suffix.lower() == ".toml" or _is_file(path):
        text = sheet_text(path)
        parsed_sheet(text, name)
        return NamedSheet(_short_name(path.stem), text, f"file {path.name}")
    known = ", ".join([*archetype_texts(), "or a file ending in .toml"])
    raise InputFault(
        "no such spec sheet", wanted=known, got=repr(name), remedy="`dwellwright sheet list` shows all"
    )


def listed_sheet(shop: Shop, name: str) -> NamedSheet:
    """A sheet by the name it has in the shop, or by an archetype's name; never a file of this machine.

    Raises:
        InputFault: there is none.
    """
    if found := _listed(shop, name):
        return found
    raise InputFault("no such spec sheet", got=repr(name[:80]), remedy="The page of spec sheets shows all")


def _listed(shop: Shop | None, name: str) -> NamedSheet | None:
    if shop is not None:
        with reading(shop.engine) as connection:
            stored = newest_sheet(connection, name)
        if stored:
            return NamedSheet(name, stored.text, stored.source)
    text = archetype_texts().get(name)
    return NamedSheet(name, text, SHIPPED) if text else None


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name that no file can have
        return False


def import_sheet(shop: Shop, path: Path, who: str, name: str | None = None) -> StoredSheet:
    """Store a sheet's file in the shop under a name: a new version if the name is taken.

    Raises:
        InputFault: the file is not a sheet, or the name cannot be used.
    """
    chosen = name or _short_name(path.stem)
    if chosen != _short_name(chosen) or not chosen:
        raise InputFault("the name of a sheet is short and plain", got=repr(chosen),
                         wanted="letters, digits, dot, hyphen and underscore, at most 60")  # fmt: skip
    if chosen in archetype_texts():
        raise InputFault(
            "this name belongs to an archetype", got=repr(chosen), remedy="Choose another with --name"
        )
    text = sheet_text(path)
    if is_changed(text):
        raise InputFault("the sheet was changed after it was signed off", where=path.name,
                         remedy="Ask for the file again, or take the sign-off out and check every figure")  # fmt: skip
    signed = sign_offs(text)
    source = signed[-1].words if signed else f"file {path.name}"
    with writing(shop.engine) as connection:
        return store_sheet(connection, chosen, text, source, who)


def _short_name(words: str) -> str:
    return re.sub(r"[^A-Za-z0-9._-]+", "-", words)[:60].strip("-.")
