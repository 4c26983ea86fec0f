"""Reading and checking spec-sheet files: TOML in, a sheet or plain findings with their lines out."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault

LARGEST_SHEET = 1_000_000
"""Bytes; a sheet is a few kilobytes, so more is not a sheet."""

ARCHETYPES = "data/sheets"


@dataclass(frozen=True)
class SheetFinding:
    """One thing wrong with a sheet, and the line it stands on (0 when it is nowhere)."""

    line: int
    key: str
    message: str

    def __str__(self) -> str:
        place = f"line {self.line}" if self.line else "in the sheet"
        return f"{place}, {self.key}: {self.message}"


def line_of(text: str, path: tuple[str | int, ...]) -> int:
    """The line on which the deepest existing part of a key path stands, from 1; 0 if none does."""
    keys = [str(part) for part in path]
    table: list[str] = []
    best_depth, best_line = 0, 0
    for number, line in enumerate(text.splitlines(), start=1):
        stripped = line.strip()
        if header := re.fullmatch(r"\[([^\[\]]+)\](?:\s*#.*)?", stripped):
            table = [part.strip().strip("\"'") for part in header.group(1).split(".")]
            found = table
        elif entry := re.match(r"([A-Za-z0-9_.\"'-]+)\s*=", stripped):
            found = [*table, *(part.strip("\"'") for part in entry.group(1).split("."))]
        else:
            continue
        depth = len(found)
        if keys[:depth] == found and depth > best_depth:
            best_depth, best_line = depth, number
    return best_line


def sheet_findings(text: str) -> list[SheetFinding]:
    """Everything wrong with a sheet's text; empty when it is a good sheet."""
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        line = re.search(r"line (\d+)", str(fault))
        return [SheetFinding(int(line.group(1)) if line else 0, "TOML", str(fault))]
    try:
        SpecSheet.model_validate(tree)
    except ValidationError as fault:
        return [_finding(text, error) for error in fault.errors()]
    return []


def _finding(text: str, error: Any) -> SheetFinding:
    path = tuple(part for part in error["loc"] if part not in ("function-after[checked(), Quantity]",))
    message = error["msg"].removeprefix("Value error, ")
    if not isinstance(error["input"], dict):
        message += f"; got {error['input']!r}"
    first = message.split(" ", 1)[0]
    return SheetFinding(
        line_of(text, (*path, *first.split("."))), ".".join(map(str, path)) or "sheet", message
    )


@lru_cache(maxsize=128)
def parsed_sheet(text: str, name: str = "sheet") -> SpecSheet:
    """A sheet from its TOML text; the same text is read only once, so nobody may change the answer.

    Raises:
        InputFault: the text is not a sheet; the message holds every finding with its line.
    """
    if findings := sheet_findings(text):
        listing = "; ".join(map(str, findings))
        raise InputFault(f"the spec sheet cannot be used: {listing}", where=name,
                         remedy="Correct them; `dwellwright sheet schema` prints what a sheet may hold")  # fmt: skip
    return SpecSheet.model_validate(tomllib.loads(text))


def sheet_text(path: Path) -> str:
    """The text of a sheet's file.

    Raises:
        InputFault: missing, too large, or not UTF-8 text.
    """
    try:
        size = path.stat().st_size
        raw = path.read_bytes() if size <= LARGEST_SHEET else b""
    except OSError as fault:
        raise InputFault(
            "the spec sheet cannot be read", where=str(path), got=fault.strerror or str(fault)
        ) from None
    if size > LARGEST_SHEET:
        raise InputFault("the file is too large to be a spec sheet", where=str(path),
                         wanted=f"at most {LARGEST_SHEET} bytes", got=f"{size} bytes")  # fmt: skip
    if not raw.strip():
        raise InputFault(
            "the spec sheet is empty", where=str(path), remedy="Start from `dwellwright sheet new`"
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = raw[: fault.start].count(b"\n") + 1
        raise InputFault("the spec sheet is not UTF-8 text", where=f"{path}, line {line}",
                         remedy="Save it as UTF-8 in a text editor") from None  # fmt: skip


def loaded_sheet(path: Path) -> SpecSheet:
    """A sheet from its file.

    Raises:
        InputFault: the file cannot be read or is not a sheet.
    """
    return parsed_sheet(sheet_text(path), str(path))


@cache
def archetype_texts() -> dict[str, str]:
    """The TOML text of every archetype shipped, by its short name; all invented."""
    folder = resources.files("dwellwright.catalogue").joinpath(ARCHETYPES)
    files = sorted(
        (file for file in folder.iterdir() if file.name.endswith(".toml")), key=lambda file: file.name
    )
    return {file.name.removesuffix(".toml"): file.read_text(encoding="utf-8") for file in files}


@cache
def archetype(name: str) -> SpecSheet:
    """An archetype shipped with the tool.

    Raises:
        InputFault: no archetype of that name.
    """
    texts = archetype_texts()
    if name not in texts:
        raise InputFault("no such archetype", wanted=", ".join(texts), got=repr(name))
    return parsed_sheet(texts[name], name)


def archetype_for(cylinders: int) -> str:
    """Name of the archetype nearest to an engine of so many cylinders."""
    counts = {name: archetype(name).engine.cylinders for name in archetype_texts()}
    return min(counts, key=lambda name: (abs(counts[name] - cylinders), name))


def sheet_schema() -> dict[str, Any]:
    """The JSON Schema of a spec sheet."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **SpecSheet.model_json_schema()}
