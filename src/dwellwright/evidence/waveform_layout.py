"""Where the numbers of a voltage recording in text lie: lines to skip, separator, columns, and their units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform_types import Floats

HEAD = 1 << 16
"""How much of the file is looked at for its layout. [bytes]"""
TIME_NAMES = re.compile(
    r"^(t|x|x-axis|time|zeit|sec(ond)?s?|temps|tiempo|.*\btime\b.*)(?=$|[\s\[(_,;:])", re.IGNORECASE
)
TIME_SCALES = {
    "s": 1.0,
    "sec": 1.0,
    "second": 1.0,
    "seconds": 1.0,
    "ms": 1e-3,
    "us": 1e-6,
    "µs": 1e-6,
    "μs": 1e-6,
    "ns": 1e-9,
}
VOLT_SCALES = {"v": 1.0, "volt": 1.0, "volts": 1.0, "mv": 1e-3, "kv": 1e3}
UNIT = re.compile(r"[\[(]\s*([A-Za-zµμ]+)\s*[\])]|[_ ]([A-Za-zµμ]+)$|^([A-Za-zµμ]+)$")


@dataclass(frozen=True)
class TextLayout:
    """Where the numbers are: lines to skip, separator, decimal comma, columns, and the words above each.

    `increment` is the step of a column of row numbers, where the header names one. [s]
    """

    skip: int
    separator: str
    decimal_comma: bool
    columns: int
    titles: tuple[tuple[str, ...], ...]
    increment: float | None = None


def decoded(raw: bytes) -> str:
    """Text of UTF-8 or UTF-16; what is neither becomes a replacement character."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw[: len(raw) // 2 * 2].decode("utf-16", errors="replace")
    return raw.decode("utf-8-sig", errors="replace")


def text_layout(path: Path) -> TextLayout:
    """The layout of a table of numbers with any preamble above it.

    Raises:
        InputFault: there are no columns of numbers.
        OSError: the file cannot be read.
    """
    with path.open("rb") as file:
        text = decoded(file.read(HEAD))
    if "\x00" in text:
        raise InputFault(
            "this is not a text file",
            where=path.name,
            wanted="columns of time and volts",
            got="binary data",
            remedy="If it is a sound file, give it its proper ending, such as .wav.",
        )
    lines = text.splitlines()
    best = _best_start(lines[:-1] or lines)
    if best[1] < 2:
        raise InputFault(
            "no columns of numbers were found",
            where=path.name,
            wanted="at least a time and a volts column",
            got=repr(lines[0][:60]) if lines else "an empty file",
            remedy="Export the recording as CSV with time and volts.",
        )
    start, _, separator, comma = best
    width = len(lines[start].split(separator))
    titles = tuple(tuple(c.strip().strip('"') for c in line.split(separator)) for line in lines[:start][-3:])
    return TextLayout(start, separator, comma, width, titles, _increment(titles, comma))


def _best_start(lines: Sequence[str]) -> tuple[int, int, str, bool]:
    """First line of the numbers, how many stand in each line, the separator, and whether commas are decimal."""
    best = (0, 0, ",", False)
    for separator, comma in ((";", True), ("\t", True), (",", False), (";", False), ("\t", False)):
        found = [_number_places(line, separator, comma) for line in lines]
        for start in range(len(found)):
            run = found[start : start + 4]
            fewest = min(len(one) for one in run)
            if fewest >= 2 and run[0] >= run[-1] and (len(run) == 4 or start + len(run) == len(found)):
                if fewest > best[1]:
                    best = (start, fewest, separator, comma)
                break
    return best


def _number_places(line: str, separator: str, decimal_comma: bool) -> frozenset[int]:
    cells = line.rstrip(separator + " ").split(separator)
    if len(cells) < 2:
        return frozenset()
    return frozenset(place for place, cell in enumerate(cells) if _is_number(cell, decimal_comma))


def _increment(titles: Sequence[Sequence[str]], decimal_comma: bool) -> float | None:
    """The step that a header names above its value, for a column that only counts the rows. [s]"""
    for above, below in pairwise(titles):
        for name, cell in zip(above, below, strict=False):
            if "increment" in name.lower() and _is_number(cell, decimal_comma):
                return float(cell.replace(",", "."))
    return None


def _is_number(cell: str, decimal_comma: bool) -> bool:
    cell = cell.strip().strip('"')
    if decimal_comma:
        if "." in cell:
            return False
        cell = cell.replace(",", ".")
    return (
        re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?|[+-]?(nan|inf)", cell, re.IGNORECASE) is not None
    )


def words_above(layout: TextLayout, column: int) -> list[str]:
    """Everything the header says of one column."""
    return [row[column] for row in layout.titles if column < len(row)]


def time_column(layout: TextLayout, table: Floats) -> int:
    """The column named like time, else the first that never falls."""
    for column in range(table.shape[1]):
        if any(TIME_NAMES.search(word) for word in words_above(layout, column)):
            return column
    for column in range(table.shape[1]):
        step = np.diff(table[:, column])
        if len(step) and (step >= 0).all() and step.any():
            return column
    return 0


def time_scale(layout: TextLayout, column: int) -> float:
    """Seconds for one unit of the time column."""
    return layout.increment or unit_scale(layout, column, TIME_SCALES)


def unit_scale(layout: TextLayout, column: int, scales: dict[str, float]) -> float:
    """What one unit of a column is worth; 1 where the header names none that is known."""
    for word in words_above(layout, column):
        for match in UNIT.finditer(word.strip()):
            unit = next(part for part in match.groups() if part)
            if unit.lower() in scales:
                return scales[unit.lower()]
    return 1.0
