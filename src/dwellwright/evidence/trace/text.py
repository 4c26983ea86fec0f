"""Columns out of a text recording: plainly or strictly at once, or cell by cell when something is wrong in it."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import polars as pl

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.clock import (
    Clock,
    clock_from_numbers,
    clock_from_text,
    text_needed,
    time_form,
)
from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse
from dwellwright.evidence.trace.layout import Layout, text_layout
from dwellwright.evidence.trace.names import guess_columns
from dwellwright.evidence.trace.plain import Plan, plain_columns
from dwellwright.evidence.trace.raw import RawTable, checked_columns, rival_columns
from dwellwright.evidence.trace.si import WRITTEN_TIME, SiColumns, derived
from dwellwright.evidence.trace.trace import Damage, Finding, counted

LARGEST_SEARCHED = 1 << 28
"""A larger file is not searched for uneven rows. [byte] (assumed)"""
BAD_SHARE = 0.5
"""A column with more unreadable cells than this is not a column of numbers. (assumed)"""


def text_columns(path: Path, columns: ColumnMap | None, si: SiColumns) -> RawTable:
    """The columns of a text recording.

    Raises:
        InputFault: it is not a table of numbers with a usable header.
    """
    layout = text_layout(path)
    where = f"{path.name}, row {layout.header_line}"
    chosen = checked_columns(columns or guess_columns(layout.header, where=where), layout.header, path.name)
    time = chosen.by_channel[Channel.TIME]
    position = layout.header.index(time.column)
    form = time_form(time.unit, [row[position] for row in layout.sample if len(row) > position])
    textual = {time.column} if text_needed(form) else set()
    findings = _layout_findings(layout, columns is None)
    try:
        frame = _plain(path, layout, chosen, textual, si)
        if frame is None:
            frame = _strict(_source(path, layout), layout.skipped_lines, layout, chosen, textual, si)
    except pl.exceptions.PolarsError:
        cells, more = _lenient(path, layout, chosen, textual)
        frame = cells.select(si.converted(chosen))
        findings += more
    frame = frame.with_columns(derived(chosen))
    if layout.last_cut and frame.height > 1:
        frame = frame.head(frame.height - 1)
    if frame.height == 0:
        raise InputFault(
            "the file has a header but no rows", where=f"{path.name}, row {layout.header_line + 1}"
        )
    clock = _clock(frame, time, form, path.name, layout.skipped_lines + 1)
    return RawTable(
        frame.drop(WRITTEN_TIME), chosen, clock, layout.skipped_lines + 1, tuple(findings), path.name
    )


def _clock(frame: pl.DataFrame, time: ColumnUse, form: str, source: str, first_row: int) -> Clock:
    column = frame[WRITTEN_TIME]
    if text_needed(form):
        return clock_from_text(column, form)
    where = f"{source}, row {first_row}, column '{time.column}'"
    return clock_from_numbers(column.to_numpy().astype(np.float64, copy=False), form, where=where)


def _source(path: Path, layout: Layout) -> Path | BytesIO:
    """What Polars reads: the file, or a copy in memory when it is UTF-16 or has the oldest line ends."""
    if layout.encoding != "utf-16" and not layout.old_line_ends:
        return path
    data = path.read_bytes()
    if layout.encoding == "utf-16":
        data = data.decode("utf-16", errors="replace").encode("utf-8")
    return BytesIO(data.replace(b"\r\n", b"\n").replace(b"\r", b"\n"))


def _scan(
    source: Path | BytesIO,
    skipped: int,
    layout: Layout,
    schema: dict[str, type[pl.DataType]],
    *,
    strict: bool,
) -> pl.LazyFrame:
    return pl.scan_csv(
        source,
        has_header=False,
        separator=layout.delimiter,
        quote_char='"' if layout.quoted else None,
        skip_lines=skipped,
        schema=schema,
        decimal_comma=layout.decimal_comma and layout.delimiter != ",",
        truncate_ragged_lines=not strict,
        encoding="utf8" if strict else "utf8-lossy",
    )


def _schema(layout: Layout, kinds: dict[str, type[pl.DataType]]) -> dict[str, type[pl.DataType]]:
    names = [(name or f"unnamed {i}") for i, name in enumerate(layout.header)]
    if layout.sample and len(layout.sample[0]) > len(names):
        names.append("beyond the header")
    return {name: kinds.get(name, pl.String) for name in names}


def _plain(
    path: Path, layout: Layout, columns: ColumnMap, textual: set[str], si: SiColumns
) -> pl.DataFrame | None:
    """The columns by the quickest way; None where it is not one for this file."""
    point = "," if layout.decimal_comma else "."
    if (
        textual
        or layout.quoted
        or layout.old_line_ends
        or layout.encoding == "utf-16"
        or point == layout.delimiter
    ):
        return None
    wanted = {use.column: place for place, use in enumerate(columns.uses)}
    places = tuple(wanted.get(name, -1) for name in _schema(layout, {}))
    names = tuple(WRITTEN_TIME if use.channel is Channel.TIME else str(use.channel) for use in columns.uses)
    factors, offsets = zip(*map(si.line, columns.uses), strict=True)
    plan = Plan(names, places, factors, offsets, layout.delimiter, point)

    def general(piece: bytes) -> pl.DataFrame:
        return _strict(BytesIO(piece), 0, layout, columns, textual, si)

    return plain_columns(path, layout.skipped_lines, plan, general)


def _strict(
    source: Path | BytesIO, skipped: int, layout: Layout, columns: ColumnMap, textual: set[str], si: SiColumns
) -> pl.DataFrame:
    if layout.decimal_comma and layout.delimiter == ",":
        raise pl.exceptions.ComputeError("decimal commas between commas: read cell by cell")
    kinds: dict[str, type[pl.DataType]] = {
        use.column: pl.String if use.column in textual else pl.Float64 for use in columns.uses
    }
    scan = _scan(source, skipped, layout, _schema(layout, kinds), strict=True)
    return scan.select(si.converted(columns)).collect(engine="streaming")


def _lenient(
    path: Path, layout: Layout, columns: ColumnMap, textual: set[str]
) -> tuple[pl.DataFrame, list[Finding]]:
    used = [use.column for use in columns.uses]
    try:
        scan = _scan(_source(path, layout), layout.skipped_lines, layout, _schema(layout, {}), strict=False)
        cells = scan.select(used).collect()
    except pl.exceptions.PolarsError as fault:
        raise InputFault(
            "the rows cannot be told apart", where=path.name, got=str(fault).splitlines()[0][:160]
        ) from None
    numbers: list[pl.Series] = []
    findings = _uneven_rows(path, layout)
    for use in columns.uses:
        text = cells[use.column].str.strip_chars()
        if use.column in textual:
            numbers.append(text)
            continue
        plain = text.str.replace(",", ".", literal=True) if layout.decimal_comma else text
        value = plain.replace("", None).cast(pl.Float64, strict=False).alias(use.column)
        bad = value.is_null() & text.is_not_null() & (text != "")
        findings += _bad_cells(use, text, bad, layout, path.name)
        numbers.append(value)
    return pl.DataFrame(numbers), findings


def _bad_cells(use: ColumnUse, text: pl.Series, bad: pl.Series, layout: Layout, source: str) -> list[Finding]:
    count = int(bad.sum())
    if not count:
        return []
    index = int(bad.arg_max() or 0)
    row = layout.skipped_lines + 1 + index
    shown = repr(str(text[index])[:40])
    if count > BAD_SHARE * text.len():
        raise InputFault(
            "the column is not numbers",
            where=f"{source}, row {row}, column '{use.column}'",
            wanted=f"numbers in {use.unit or 'seconds'}",
            got=f"{shown} and {count - 1} more such cells",
        )
    cells = counted(count, "cell")
    sentence = f"Column '{use.column}' has no number in {cells}, the first {shown} at row {row}."
    return [Finding(Damage.BAD_CELL, use.channel, count, row, sentence)]


def _uneven_rows(path: Path, layout: Layout) -> list[Finding]:
    """Rows with more cells than the header, looked for only in files that could not be read at once."""
    if layout.quoted or layout.encoding == "utf-16" or path.stat().st_size > LARGEST_SEARCHED:
        return []
    most = max(len(layout.header), len(layout.sample[0]) if layout.sample else 0) - 1
    count, first = 0, 0
    with path.open("rb") as file:
        for number, line in enumerate(file, start=1):
            if number > layout.skipped_lines and line.count(layout.delimiter.encode()) > most:
                count, first = count + 1, first or number
    if not count:
        return []
    rows = counted(count, "row")
    text = f"Cells beyond those of the header were left out in {rows}, the first at row {first}."
    return [Finding(Damage.BAD_CELL, None, count, first, text)]


def _layout_findings(layout: Layout, guessed: bool) -> list[Finding]:
    found = []
    if layout.encoding == "cp1252":
        text = "The header is not UTF-8; it was read as Windows-1252."
        found.append(Finding(Damage.ENCODING, None, 1, layout.header_line, text))
    if layout.last_cut:
        text = "The last row is cut off in its middle; it was left out."
        found.append(Finding(Damage.CUT_SHORT, None, 1, 0, text))
    return found + (rival_columns(layout.header, layout.header_line) if guessed else [])
