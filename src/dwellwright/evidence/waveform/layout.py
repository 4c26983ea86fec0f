"""Where the numbers of a voltage recording in text lie: lines to skip, separator, columns, and their units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from pathlib import Path

import numpy as np

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform.types import Floats

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
RATE_SCALES = {"hz": 1.0, "khz": 1e3, "mhz": 1e6, "s/s": 1.0, "sa/s": 1.0, "ks/s": 1e3, "ksa/s": 1e3, "msa/s": 1e6,
               "ms/s": 1e6}  # fmt: skip
_AFTER = (
    r"\s*[\[(]?\s*(?P<before>[A-Za-zµμ/]{1,7})?\s*[\])]?\s*[\s,;:=\t\"]+"
    r"(?P<value>\d+(?:[.,]\d+)?(?:[eE][+-]?\d{1,2})?)\s*\"?\s*[,;\t]?\s*(?P<after>[A-Za-zµμ/]{1,7})?"
)
_INTERVAL = re.compile(
    r"(?:sampl\w*[ _]?(?:interval|period|time)|time[ _](?:interval|step|per[ _]sample)"
    r"|^\W*(?:interval|delta ?t|dt|xinc\w*)\b)" + _AFTER,
    re.IGNORECASE,
)
_RATE = re.compile(
    r"(?:sampl\w*[ _]?(?:rate|frequency|freq)|samples[ _](?:per|/)[ _]?s(?:ec(?:ond)?)?)" + _AFTER,
    re.IGNORECASE,
)
_COMMA_NUMBER = re.compile(r"[+-]?\d{1,6},\d+")
MOSTLY_RISING = 0.9
"""A column whose steps rise by this share is time, though it may have a fault (assumed)."""
LOOKED_AT = 400
"""Lines that tell whether a comma is decimal."""
UNIT = re.compile(r"[\[(]\s*([A-Za-zµμ]+)\s*[\])]|[_ ]([A-Za-zµμ]+)$|^([A-Za-zµμ]+)$")


@dataclass(frozen=True)
class TextLayout:
    """Where the numbers are: lines to skip, separator, decimal comma, columns, and the words above each.

    `increment` is the step of a column of row numbers, where the header names one, and `step` the time from row to row,
    where the lines above name it. [s]
    """

    skip: int
    separator: str
    decimal_comma: bool
    columns: int
    titles: tuple[tuple[str, ...], ...]
    increment: float | None = None
    step: float | None = None


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
    best = _best_start(lines[:-1] or lines) or _single_start(lines[:-1] or lines)
    if best is None:
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
    return TextLayout(
        start, separator, comma, width, titles, _increment(titles, comma), told_step(lines[:start])
    )


_Start = tuple[int, int, str, bool]
"""First line of the numbers, how many stand in each line, the separator, and whether commas are decimal."""


def _best_start(lines: Sequence[str]) -> _Start | None:
    """Where two or more numbers in each line begin; None where they do nowhere."""
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
    return None if best[1] < 2 or _is_one_with_commas(lines[best[0] :], best[2]) else best


def _is_one_with_commas(lines: Sequence[str], separator: str) -> bool:
    """Whether what a comma cuts in two is one number with a decimal comma: whole numbers that do not rise like time."""
    some = [line.strip() for line in lines if line.strip()][:LOOKED_AT]
    if separator != "," or not all(_COMMA_NUMBER.fullmatch(line) for line in some):
        return False
    first = [int(line.partition(",")[0]) for line in some]
    return len(some) > 1 and not all(a < b for a, b in pairwise(first))


def _single_start(lines: Sequence[str]) -> _Start | None:
    """Where one number in each line begins; None where it does nowhere."""
    for comma in (False, True):
        found = [_is_number(line.strip(" ,;\t"), comma) for line in lines]
        for start in range(len(found)):
            run = found[start : start + 4]
            if all(run) and len(run) > 1:
                return (start, 1, ";" if comma else ",", comma)
    return None


def told_step(preamble: Sequence[str]) -> float | None:
    """The time between rows that the lines above a table tell, by interval or by rate. [s]

    >>> told_step(["Model,X", "Sample Interval (s),2.0E-05"]), told_step(["Sampling rate;50 kHz"])
    (2e-05, 2e-05)
    """
    for line in preamble:
        for pattern, scales in ((_INTERVAL, TIME_SCALES), (_RATE, RATE_SCALES)):
            if not (match := pattern.search(line)):
                continue
            value = float(match["value"].replace(",", "."))
            scale = scales.get((match["before"] or match["after"] or "").lower(), 1.0)
            if value > 0 and isfinite(value):
                return value * scale if pattern is _INTERVAL else 1.0 / (value * scale)
    return None


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


def time_column(layout: TextLayout, table: Floats) -> int | None:
    """The column named like time, else the first that rises nearly always; None where there is none."""
    if table.shape[1] < 2:
        return None
    for column in range(table.shape[1]):
        if any(TIME_NAMES.search(word) for word in words_above(layout, column)):
            return column
    for column in range(table.shape[1]):
        step = np.diff(table[:, column])
        if len(step) and ((step > 0).mean() > MOSTLY_RISING or ((step >= 0).all() and step.any())):
            return column
    return None


def counts_rows(layout: TextLayout, table: Floats, column: int) -> bool:
    """Whether a column only counts the rows, and no unit says that it is time."""
    named = any(match for word in words_above(layout, column) for match in UNIT.finditer(word)
                if next(part for part in match.groups() if part).lower() in TIME_SCALES)  # fmt: skip
    return not named and layout.increment is None and bool((np.diff(table[:, column]) == 1.0).all())


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
