"""A recording as it comes out of a file: its columns in SI, its time as written, and the faults met."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.clock import Clock
from dwellwright.evidence.trace.columns import ColumnMap
from dwellwright.evidence.trace.names import column_unit, proposed_columns
from dwellwright.evidence.trace.trace import Damage, Finding


@dataclass(frozen=True)
class RawTable:
    """Columns in SI, straight from the reader, before they were looked at.

    Args:
        frame: Float64 columns named as channels, without the time.
        columns: the map in use.
        clock: seconds of each row.
        first_row: file row of the first row of data.
        findings: damage met while reading.
        source: file name.
    """

    frame: pl.DataFrame
    columns: ColumnMap
    clock: Clock
    first_row: int
    findings: tuple[Finding, ...]
    source: str


def checked_columns(columns: ColumnMap, header: tuple[str, ...], source: str) -> ColumnMap:
    """The map, once every column it names is in the header and every unit is known.

    Raises:
        InputFault: a column is missing or a unit unknown.
    """
    missing = [use.column for use in columns.uses if use.column not in header]
    if missing:
        raise InputFault(
            "the column map names columns the file does not have",
            where=f"{source}, row 1",
            wanted=", ".join(missing),
            got=", ".join(header)[:200],
            remedy="Make a new column map for this file.",
        )
    for use in columns.uses:
        if use.unit not in ("", "clock", "iso", "epoch"):
            column_unit(use.unit, where=f"column map, column '{use.column}'")
    return columns


def rival_columns(header: tuple[str, ...], row: int) -> list[Finding]:
    """What is to be said of columns that a guess left out because another says the same.

    Args:
        header: names of the columns.
        row: file row of the header, 0 where it has none.
    """
    return [
        Finding(Damage.UNUSED_COLUMN, None, 1, row,
                f"Column '{rival}' was not used because '{kept}' says the same thing.")
        for rival, kept in proposed_columns(header).rivals
    ]  # fmt: skip
