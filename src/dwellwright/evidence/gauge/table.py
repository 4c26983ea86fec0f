"""A small table typed by a person: any delimiter, any column order; each fault names its row and column."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from dwellwright.errors import InputFault

LARGEST_FILE = 2_000_000
"""A hand-typed sheet is never longer than this many bytes."""

MOST_ROWS = 20_000
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_DELIMITERS = ";\t|,"


@dataclass(frozen=True)
class Row:
    """One line below the header.

    Args:
        number: as a spreadsheet counts, the header being the first line of the file.
        cells: stripped text, one for each header cell.
        fault: set when the line itself cannot be split into cells.
    """

    number: int
    cells: tuple[str, ...]
    fault: InputFault | None = None


@dataclass(frozen=True)
class Table:
    """A typed-in table; `header` is lower case with spaces as underscores."""

    name: str
    header: tuple[str, ...]
    rows: tuple[Row, ...]
    decimal_comma: bool

    def where(self, row: Row, column: int) -> str:
        """File, row and column in words."""
        return f"{self.name}, row {row.number}, {self.header[column]}"

    def number(self, row: Row, column: int) -> float | None:
        """The cell as a finite number; None if it is blank.

        Raises:
            InputFault: the cell holds something else.
        """
        text = row.cells[column]
        if not text:
            return None
        plain = text.replace(",", ".") if self.decimal_comma and text.count(",") == 1 else text
        if _NUMBER.fullmatch(plain) and isfinite(float(plain)):
            return float(plain)
        raise InputFault(
            "the cell is not a number",
            where=self.where(row, column),
            wanted="a finite number such as 12.5",
            got=repr(text[:40]),
            remedy="The unit belongs in the unit column or the header",
        )


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise InputFault(
                "the file is too long for a typed sheet",
                where=path.name,
                wanted=f"up to {LARGEST_FILE} bytes",
            )
        raw = path.read_bytes()
    except OSError as error:
        raise InputFault(
            "the file cannot be read", where=path.name, got=error.strerror or "an error"
        ) from error
    try:
        if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return raw.decode("utf-16")
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputFault(
            "the file is not text in UTF-8",
            where=f"{path.name}, byte {error.start}",
            remedy="Save it again as CSV with UTF-8 encoding",
        ) from None


def _cells(line: str, delimiter: str, where: str) -> tuple[str, ...]:
    if "\0" in line:
        raise InputFault("the line holds a zero byte", where=where, remedy="Save the file again as plain CSV")
    try:
        return tuple(cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, strict=True)))
    except (csv.Error, StopIteration):
        raise InputFault(
            "the line has a quote that does not close",
            where=where,
            got=repr(line[:40]),
            remedy="Remove the stray quote",
        ) from None


def _row(number: int, line: str, width: int, delimiter: str, name: str) -> Row:
    where = f"{name}, row {number}"
    try:
        cells = _cells(line, delimiter, where)
        if any(cells[width:]):
            raise InputFault(
                "the row has more cells than the header",
                where=where,
                wanted=f"{width} cells",
                got=f"{len(cells)} cells",
            )
    except InputFault as fault:
        return Row(number, ("",) * width, fault)
    return Row(number, cells[:width] + ("",) * (width - len(cells)))


def read_table(path: Path) -> Table:
    """The table in a CSV, semicolon or tab file, cells still text.

    Raises:
        InputFault: unreadable, empty, not text, or its header cannot be split.
    """
    lines = _text(path).splitlines()
    first = next((index for index, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise InputFault("the file is empty", where=path.name, wanted="a header line and at least one row")
    if len(lines) - first > MOST_ROWS:
        raise InputFault(
            "the file has too many rows", where=path.name, wanted=f"up to {MOST_ROWS}", got=str(len(lines))
        )
    delimiter = max(_DELIMITERS, key=lines[first].count)
    header = _cells(lines[first], delimiter, f"{path.name}, row {first + 1}")
    names = tuple(re.sub(r"\s+", "_", cell.lower()) for cell in header)
    rows = [
        _row(first + 2 + offset, line, len(names), delimiter, path.name)
        for offset, line in enumerate(lines[first + 1 :])
        if line.strip(delimiter + " \t")
    ]
    return Table(path.name, names, tuple(rows), decimal_comma=delimiter != ",")


def column(table: Table, aliases: tuple[str, ...]) -> int | None:
    """Index of the one column with any of these names; None if there is none.

    Raises:
        InputFault: two columns answer.
    """
    found = [index for index, name in enumerate(table.header) if name in aliases]
    if len(found) > 1:
        raise InputFault(
            "two columns say the same",
            where=f"{table.name}, header",
            got=", ".join(table.header[i] for i in found),
        )
    return found[0] if found else None
