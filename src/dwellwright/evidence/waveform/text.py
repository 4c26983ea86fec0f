"""A voltage recording as text: any oscilloscope's CSV with a time and a volts column."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform.even import evenly
from dwellwright.evidence.waveform.files import HIGHEST_RATE, LOWEST_RATE, Block, Recording
from dwellwright.evidence.waveform.layout import (
    HEAD,
    VOLT_SCALES,
    TextLayout,
    counts_rows,
    decoded,
    text_layout,
    time_column,
    time_scale,
    unit_scale,
)
from dwellwright.evidence.waveform.types import Floats

if TYPE_CHECKING:
    import polars as pl

SUFFIXES = {".csv", ".tsv", ".txt", ".asc", ".dat"}
SOUND_SUFFIXES = {".wav", ".flac", ".ogg", ".aif", ".aiff", ".au", ".caf", ".w64", ".rf64", ".mp3"}
HEAD_OF_TEXT, PLAIN_SHARE = 512, 0.95
"""Bytes that tell text from sound, and the share of them that text writes with plain letters. (assumed)"""
_PLAIN = frozenset(b"\t\r\n") | frozenset(range(0x20, 0x7F))
MOST_VOLTS = 1e5
"""[V]"""
LARGEST = 1 << 29
"""Text files beyond this are refused: a sound file holds the same in a tenth. [bytes]"""
LOOKED_AT = 400
"""Rows that tell how fast a table was sampled."""
MOSTLY_EMPTY = 0.5
"""A column with this share of cells that are no numbers is a label, not a reading."""


def is_text(path: Path) -> bool:
    """Whether the file's name says that it is text, or, under any other name, its first bytes do.

    Raises:
        OSError: the file cannot be read.
    """
    if path.suffix.lower() in SUFFIXES | SOUND_SUFFIXES:
        return path.suffix.lower() in SUFFIXES
    with path.open("rb") as file:
        head = file.read(HEAD_OF_TEXT)
    plain = sum(byte in _PLAIN for byte in head)
    return head.startswith((b"\xff\xfe", b"\xfe\xff")) or plain > PLAIN_SHARE * len(head)


def text_recording(path: Path, sample_rate: float | None = None) -> Recording:
    """The one or more voltage columns of a text file as a stream.

    Args:
        path: of the file.
        sample_rate: rows in a second, for a file without time; one with time keeps its own. [Hz]

    Raises:
        InputFault: no time and no rate, no volts column, a cell that is no number, time that runs backward, too large.
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
    layout = text_layout(path)
    table, layout, notes = _numbers(path, layout)
    clock = time_column(layout, table)
    volts = [i for i in range(table.shape[1]) if i != clock]
    levels = np.stack([table[:, i] * unit_scale(layout, i, VOLT_SCALES) for i in volts])
    _refuse_volts(path.name, layout, levels)
    if clock is None or (counts_rows(layout, table, clock) and (sample_rate or layout.step)):
        rate, time_notes = _told_rate(path.name, layout, table, sample_rate)
    else:
        time = table[:, clock] * time_scale(layout, clock)
        rate, levels, time_notes = evenly(path.name, layout.skip, time, levels)
        if sample_rate is not None:
            time_notes += (
                f"The file has its own time: the {sample_rate:g} rows a second that were told are not used.",
            )
    block = Block(0, 0, np.ascontiguousarray(levels, dtype=np.float32), True)
    return Recording(
        path.name, rate, len(volts), levels.shape[1], iter((block,)), notes + time_notes, volts=True
    )


def _told_rate(
    name: str, layout: TextLayout, table: Floats, told: float | None
) -> tuple[float, tuple[str, ...]]:
    """Rows in a second of a table without time, as its own preamble says or as was told. [Hz]

    Raises:
        InputFault: neither says it, or it cannot be.
    """
    rate = told or (1.0 / layout.step if layout.step else None)
    if rate is None:
        raise InputFault(
            "the volts have no time beside them",
            where=name,
            wanted="a column of time, or how many rows there are in a second",
            got=f"{table.shape[1]} columns of numbers" if table.shape[1] > 1 else "1 column of numbers",
            remedy="Say the rows in a second with the file (--sample-rate), or export the recording with its time.",
        )
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise InputFault(
            "the rows in a second do not fit a recording of pulses",
            where=name,
            wanted=f"{LOWEST_RATE:g} to {HIGHEST_RATE:g}",
            got=f"{rate:g}",
        )
    by = "as was told" if told else "as the lines above its numbers say"
    return rate, (
        f"The file has no time: {rate:g} rows a second, {by}. Dwell hardly depends on it, the pulse rate does.",
    )


def text_rate(path: Path) -> float | None:
    """Rows a second of a table of numbers, judged from its beginning; infinite where no column can be time, None where
    its time stands or where it is no table of numbers. [1/s]

    Raises:
        OSError: the file cannot be read.
    """
    try:
        layout = text_layout(path)
        with path.open("rb") as file:
            lines = decoded(file.read(HEAD)).splitlines()[layout.skip : -1]
        table, layout, _ = _as_numbers(path, layout, "\n".join(lines[:LOOKED_AT]).encode())
    except InputFault:
        return None
    if len(table) < 2:
        return None
    column = time_column(layout, table)
    if column is None or (layout.step and counts_rows(layout, table, column)):
        return 1.0 / layout.step if layout.step else np.inf
    step = float(np.median(np.diff(table[:, column]))) * time_scale(layout, column)
    return 1.0 / step if step > 0 else None


def _refuse_volts(name: str, layout: TextLayout, levels: Floats) -> None:
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


def _body(path: Path, layout: TextLayout) -> bytes:
    """Everything below the header."""
    raw = path.read_bytes()
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raw = decoded(raw).encode()
    return raw.split(b"\n", layout.skip)[-1] if layout.skip else raw


def _rows(path: Path, layout: TextLayout, body: bytes) -> pl.DataFrame:
    """Every row below the header as words."""
    import polars as pl

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


def _numbers(path: Path, layout: TextLayout) -> tuple[Floats, TextLayout, tuple[str, ...]]:
    return _as_numbers(path, layout, _body(path, layout))


def _as_numbers(path: Path, layout: TextLayout, body: bytes) -> tuple[Floats, TextLayout, tuple[str, ...]]:
    """Every row as numbers, shape (rows, columns), and the layout of the columns that hold some."""
    import polars as pl  # only here and below: a sound file needs none of its 60 MB

    frame = _rows(path, layout, body)
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
    name: str, layout: TextLayout, table: Floats, frame: pl.DataFrame, kept: NDArray[np.int64]
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
    if table.shape[1] < 1 or not len(table):
        raise InputFault(
            "there is no column of volts", where=name, wanted="a time and a volts column", got="none"
        )
    return table, notes
