"""A gauge study typed into a table: part, hand, readings; solved by whichever way fits the data."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.read import reading_columns
from dwellwright.evidence.gauge.study import GaugeStudy, analysis_of_variance, likelihood_study
from dwellwright.evidence.gauge.table import Row, Table, column, read_table
from dwellwright.evidence.gauge.variance import MOST_READINGS
from dwellwright.units import Dimension, known_unit, to_si


@dataclass(frozen=True)
class StudyTable:
    """Readings of a study, one entry each.

    Args:
        name: of the file.
        unit: they were typed in.
        values: readings. [SI]
        parts: the part of each.
        hands: who took each.
        findings: cells and rows left out, each with its place.
    """

    name: str
    unit: str
    values: tuple[float, ...]
    parts: tuple[str, ...]
    hands: tuple[str, ...]
    findings: tuple[InputFault, ...]


def _needed(table: Table, names: tuple[str, ...]) -> int:
    index = column(table, names)
    if index is None:
        raise InputFault(
            f"the study's header lacks `{names[0]}`",
            where=f"{table.name}, row 1",
            wanted="part, hand, unit, reading_1, reading_2, ... in any order",
            got=", ".join(table.header)[:120],
        )
    return index


class _Reader:
    """Collects readings; what is wrong is kept with its place."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.part = _needed(table, ("part", "piece", "item"))
        self.hand = _needed(table, ("hand", "operator", "who", "person"))
        self.unit = _needed(table, ("unit", "units"))
        self.columns = reading_columns(table, {self.part, self.hand, self.unit})
        self.values: list[float] = []
        self.parts: list[str] = []
        self.hands: list[str] = []
        self.dimension: Dimension | None = None
        self.first_unit = ""
        self.findings: list[InputFault] = []

    def take(self, row: Row) -> None:
        """One row: a part, a hand, and its readings."""
        if row.fault:
            raise row.fault
        part, hand, unit = (row.cells[i] for i in (self.part, self.hand, self.unit))
        if not part or not hand:
            raise InputFault("the row names no part or no hand", where=f"{self.table.name}, row {row.number}")
        where = self.table.where(row, self.unit)
        dimension = known_unit(unit, where=where).dimension
        if self.dimension not in (None, dimension):
            raise InputFault("the unit measures something else than the rows before", where=where, got=unit)
        self.dimension, self.first_unit = dimension, self.first_unit or unit
        for index in self.columns:
            try:
                number = self.table.number(row, index)
            except InputFault as fault:
                self.findings.append(fault)
                continue
            if number is not None:
                self.values.append(to_si(number, unit))
                self.parts.append(part)
                self.hands.append(hand)


def read_study(path: Path | str) -> StudyTable:
    """A study from a table with part, hand, unit and any number of readings in each row.

    Raises:
        InputFault: the file as a whole cannot be used, or holds too many readings.
    """
    table = read_table(Path(path))
    reader = _Reader(table)
    for row in table.rows:
        try:
            reader.take(row)
        except InputFault as fault:
            reader.findings.append(fault)
    if len(reader.values) > MOST_READINGS:
        raise InputFault(
            "the study is too long",
            where=table.name,
            wanted=f"up to {MOST_READINGS}",
            got=str(len(reader.values)),
        )
    return StudyTable(
        table.name,
        reader.first_unit,
        tuple(reader.values),
        tuple(reader.parts),
        tuple(reader.hands),
        tuple(reader.findings),
    )


def _refuse_useless(table: StudyTable, cells: Counter[tuple[str, str]]) -> None:
    """Say why nothing can be learned from a study."""
    parts, hands, most = len(set(table.parts)), len(set(table.hands)), max(cells.values(), default=0)
    if parts < 2 or hands < 2 or most < 2:
        raise InputFault(
            "the study is too small",
            where=table.name,
            wanted="two parts, two hands and two readings of a part by each; usual are ten, three and three",
            got=f"{parts} parts, {hands} hands, {most} readings",
        )
    different = {(*cell, value) for *cell, value in zip(table.parts, table.hands, table.values, strict=True)}
    if len(different) == len(cells):
        raise InputFault(
            "the repeats are all the same: the gauge's step is too coarse for a study",
            where=table.name,
            wanted="repeats that differ at least here and there",
            remedy="Read the gauge to a finer step, or take another gauge",
        )


def study_of(table: StudyTable) -> GaugeStudy:
    """Analysis of variance where every part was measured equally often by every hand, else restricted likelihood.

    Raises:
        InputFault: fewer than two parts, hands or repeats, or repeats that are all the same.
    """
    cells = Counter(zip(table.parts, table.hands, strict=True))
    parts, hands = sorted(set(table.parts)), sorted(set(table.hands))
    _refuse_useless(table, cells)
    counts = set(cells.values())
    if len(counts) > 1 or len(cells) < len(parts) * len(hands):
        return likelihood_study(table.values, table.parts, table.hands)
    cube = np.full((len(parts), len(hands), counts.pop()), np.nan)
    filled: Counter[tuple[str, str]] = Counter()
    for value, part, hand in zip(table.values, table.parts, table.hands, strict=True):
        cube[parts.index(part), hands.index(hand), filled[part, hand]] = value
        filled[part, hand] += 1
    return analysis_of_variance(cube)
