"""A voltage recording as text: any oscilloscope's CSV with a time and a volts column."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform_even import evenly
from dwellwright.evidence.waveform_files import Block, Recording
from dwellwright.evidence.waveform_types import Floats

if TYPE_CHECKING:
    import polars as pl

SUFFIXES = {".csv", ".tsv", ".txt", ".asc", ".dat"}
MOST_VOLTS = 1e5
"""[V]"""
LARGEST = 1 << 29
"""Text files beyond this are refused: a sound file holds the same in a tenth. [bytes]"""
HEAD = 1 << 16
"""How much of the file is looked at for its layout. [bytes]"""
MOSTLY_EMPTY = 0.5
"""A column with this share of cells that are no numbers is a label, not a reading."""
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
class _Layout:
    """Where the numbers are: lines to skip, separator, decimal comma, columns, and the words above each."""

    skip: int
    separator: str
    decimal_comma: bool
    columns: int
    titles: tuple[tuple[str, ...], ...]


def is_text(path: Path) -> bool:
    """Whether the file's name says that it is text."""
    return path.suffix.lower() in SUFFIXES


def text_recording(path: Path, channel: int | None) -> Recording:
    """The one or more voltage columns of a text file as a stream.

    Raises:
        InputFault: no time or volts column, a cell that is no number, time that runs backward, too large.
    """
    size = path.stat().st_size
    if size > LARGEST:
        raise InputFault(
            "the text file is too large",
            where=path.name,
            wanted=f"at most {LARGEST >> 20} MB",
            got=f"{size >> 20} MB",
            remedy="Export the recording as WAV or FLAC.",
        )
    layout = _layout(path)
    table, layout, notes = _numbers(path, layout)
    time_column = _time_column(layout, table)
    volts = [i for i in range(table.shape[1]) if i != time_column]
    time = table[:, time_column] * _scale(layout, time_column, TIME_SCALES)
    levels = np.stack([table[:, i] * _scale(layout, i, VOLT_SCALES) for i in volts])
    _refuse_volts(path.name, layout, levels)
    rate, levels, time_notes = evenly(path.name, layout.skip, time, levels)
    block = Block(0, 0, np.ascontiguousarray(levels, dtype=np.float32), True)
    return Recording(
        path.name, rate, len(volts), levels.shape[1], iter((block,)), notes + time_notes, volts=True
    )


def _refuse_volts(name: str, layout: _Layout, levels: Floats) -> None:
    """No car's wire carries more than the spike of a coil."""
    beyond = np.abs(levels) > MOST_VOLTS
    if beyond.any():
        row = int(np.flatnonzero(beyond.any(axis=0))[0])
        raise InputFault(
            "no wire of a car carries such a voltage",
            where=f"{name}, row {row + layout.skip + 1}",
            wanted=f"at most {MOST_VOLTS:g} V",
            got=f"{float(levels[:, row][beyond[:, row]][0]):.3g} V",
            remedy="Check the unit in the header, such as mV.",
        )


def _decoded(raw: bytes) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw[: len(raw) // 2 * 2].decode("utf-16", errors="replace")
    return raw.decode("utf-8-sig", errors="replace")


def _layout(path: Path) -> _Layout:
    with path.open("rb") as file:
        text = _decoded(file.read(HEAD))
    if "\x00" in text:
        raise InputFault(
            "this is not a text file",
            where=path.name,
            wanted="columns of time and volts",
            got="binary data",
            remedy="If it is a sound file, give it its proper ending, such as .wav.",
        )
    lines = text.splitlines()
    best: tuple[int, int, str, bool] = (0, 0, ",", False)
    for separator, comma in ((";", True), ("\t", True), (",", False), (";", False), ("\t", False)):
        counts = [_number_count(line, separator, comma) for line in lines[:-1] or lines]
        for start in range(len(counts)):
            run = counts[start : start + 4]
            if min(run) >= 2 and (len(run) == 4 or start + len(run) == len(counts)):
                score = min(run)
                if score > best[1]:
                    best = (start, score, separator, comma)
                break
    if best[1] < 2:
        raise InputFault(
            "no columns of numbers were found",
            where=path.name,
            wanted="at least a time and a volts column",
            got=repr(lines[0][:60]) if lines else "an empty file",
            remedy="Export the recording as CSV with time and volts.",
        )
    start, _, separator, comma = best
    width = len(lines[start].rstrip(separator).split(separator))
    titles = tuple(tuple(c.strip().strip('"') for c in line.split(separator)) for line in lines[:start][-3:])
    return _Layout(start, separator, comma, width, titles)


def _number_count(line: str, separator: str, decimal_comma: bool) -> int:
    cells = line.rstrip(separator + " ").split(separator)
    return sum(_is_number(cell, decimal_comma) for cell in cells) if len(cells) > 1 else 0


def _is_number(cell: str, decimal_comma: bool) -> bool:
    cell = cell.strip().strip('"')
    if decimal_comma:
        if "." in cell:
            return False
        cell = cell.replace(",", ".")
    return (
        re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?|[+-]?(nan|inf)", cell, re.IGNORECASE) is not None
    )


def _rows(path: Path, layout: _Layout) -> pl.DataFrame:
    """Every row below the header as words."""
    import polars as pl

    raw = path.read_bytes()
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raw = _decoded(raw).encode()
    body = raw.split(b"\n", layout.skip)[-1] if layout.skip else raw
    try:
        return pl.read_csv(
            body,
            has_header=False,
            separator=layout.separator,
            infer_schema=False,
            encoding="utf8-lossy",
            truncate_ragged_lines=True,
            quote_char='"',
            new_columns=[f"c{i}" for i in range(layout.columns)],
        )
    except (pl.exceptions.PolarsError, ValueError) as error:
        raise InputFault(
            "the rows cannot be read",
            where=path.name,
            wanted="rows of numbers",
            got=str(error).splitlines()[0][:120],
        ) from error


def _numbers(path: Path, layout: _Layout) -> tuple[Floats, _Layout, tuple[str, ...]]:
    """Every row as numbers, shape (rows, columns), and the layout of the columns that hold some."""
    import polars as pl  # only here and below: a sound file needs none of its 60 MB

    frame = _rows(path, layout)
    columns = []
    for name in frame.columns[: layout.columns]:
        words = frame[name].str.strip_chars(' "')
        if layout.decimal_comma:
            words = words.str.replace(",", ".", literal=True)
        columns.append(words.cast(pl.Float64, strict=False).fill_null(np.nan).to_numpy())
    table = np.stack(columns, axis=1) if columns else np.zeros((0, 0))
    table = (
        table[: np.flatnonzero(~np.isnan(table).all(axis=1))[-1] + 1]
        if np.isfinite(table).any()
        else table[:0]
    )
    if not len(table):
        raise InputFault(
            "the file holds no rows", where=path.name, wanted="rows of time and volts", got="0 rows"
        )
    kept = np.flatnonzero(np.isnan(table).mean(axis=0) < MOSTLY_EMPTY)
    titles = tuple(tuple(row[i] if i < len(row) else "" for i in kept) for row in layout.titles)
    table, notes = _checked_cells(path.name, layout, table[:, kept], frame, kept)
    return table, replace(layout, titles=titles, columns=len(kept)), notes


def _checked_cells(
    name: str, layout: _Layout, table: Floats, frame: pl.DataFrame, kept: NDArray[np.int64]
) -> tuple[Floats, tuple[str, ...]]:
    notes: tuple[str, ...] = ()
    if len(table) > 1 and not np.isfinite(table[-1]).all() and np.isfinite(table[:-1]).all():
        table, notes = table[:-1], ("The last row is incomplete and was left out.",)
    bad = np.argwhere(~np.isfinite(table))
    if len(bad):
        row, column = (int(v) for v in bad[0])
        got = frame.row(row)[int(kept[column])]
        raise InputFault(
            "the cell is not a finite number",
            where=f"{name}, row {row + layout.skip + 1}, column {int(kept[column]) + 1}",
            wanted="a number",
            got=repr(got),
            remedy="Correct the cell or delete the row.",
        )
    if table.shape[1] < 2 or not len(table):
        raise InputFault(
            "there is no column of volts beside the time",
            where=name,
            wanted="a time and a volts column",
            got=f"{table.shape[1]} column of numbers",
            remedy="Export the recording with its time column.",
        )
    return table, notes


def _words(layout: _Layout, column: int) -> list[str]:
    return [row[column] for row in layout.titles if column < len(row)]


def _time_column(layout: _Layout, table: Floats) -> int:
    """The column named like time, else the first that never falls."""
    for column in range(table.shape[1]):
        if any(TIME_NAMES.search(word) for word in _words(layout, column)):
            return column
    for column in range(table.shape[1]):
        step = np.diff(table[:, column])
        if len(step) and (step >= 0).all() and step.any():
            return column
    return 0


def _scale(layout: _Layout, column: int, scales: dict[str, float]) -> float:
    for word in _words(layout, column):
        for match in UNIT.finditer(word.strip()):
            unit = next(part for part in match.groups() if part)
            if unit.lower() in scales:
                return scales[unit.lower()]
    return 1.0
