"""A bench sheet read from a file: any column order, any number of repeats, a unit on every row."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from dwellwright.catalogue.gauge_items import GaugeItem, ItemKind, gauge_items
from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.sheet import GaugeReading, GaugeSheet
from dwellwright.evidence.gauge.table import Row, Table, column, read_table
from dwellwright.units import known_unit, step_to_si, to_si

_READING = re.compile(r"(reading|read|repeat|r|m|value)?_?#?\d*", re.ASCII)
FARTHEST = 1e9
"""Largest reading of an item that the tool does not know, in SI; pascals of a pressure line come nearest."""
_NO_CODES = {"", "none", "no", "0", "-", "nil"}


@dataclass(frozen=True)
class _Columns:
    item: int
    unit: int
    spec: int | None
    tolerance: int | None
    instrument: int | None
    readings: tuple[int, ...]


def reading_columns(table: Table, taken: set[int | None]) -> tuple[int, ...]:
    """Indexes of the columns that hold repeats, such as `reading_1`, `r2` or `3`, in the table's order."""
    return tuple(
        i for i, name in enumerate(table.header) if i not in taken and name and _READING.fullmatch(name)
    )


def _columns(table: Table) -> _Columns:
    item = column(table, ("item", "name", "what", "setting"))
    unit = column(table, ("unit", "units"))
    spec = column(table, ("spec", "specification", "wanted", "target", "nominal"))
    tolerance = column(table, ("tolerance", "tol", "plus_minus", "+/-", "±"))
    tool = column(table, ("instrument", "gauge", "tool"))
    readings = reading_columns(table, {item, unit, spec, tolerance, tool})
    if item is None or unit is None or not readings:
        raise InputFault(
            "the bench sheet's header lacks a column",
            where=f"{table.name}, row 1",
            wanted="item, unit, spec, reading_1, reading_2, ... in any order",
            got=", ".join(table.header)[:120],
        )
    return _Columns(item, unit, spec, tolerance, tool, readings)


class _Reader:
    """Collects what the rows say; every fault is kept with its place and the rest is still read."""

    def __init__(self, table: Table) -> None:
        self.table, self.columns = table, _columns(table)
        self.texts: dict[str, str] = {}
        self.numbers: dict[str, float] = {}
        self.codes: tuple[str, ...] | None = None
        self.readings: dict[str, GaugeReading] = {}
        self.findings: list[InputFault] = []

    def take(self, row: Row) -> None:
        """Read one row into context or readings."""
        if row.fault:
            raise row.fault
        name = re.sub(r"[\s-]+", "_", row.cells[self.columns.item].lower())
        if not name:
            raise InputFault("the row names no item", where=self.table.where(row, self.columns.item))
        item = gauge_items().get(name)
        if item is None:
            self._unknown(row, name)
        name = item.name if item else name
        if name in self.readings or name in self.numbers or name in self.texts:
            raise InputFault(
                "the item is on the sheet twice", where=self.table.where(row, self.columns.item), got=name,
                remedy="Put its repeats on one row; the first row was used",
            )  # fmt: skip
        if item is None or item.kind is ItemKind.READING:
            self._reading(row, name, item)
        else:
            self._context(row, item)

    def _unknown(self, row: Row, name: str) -> None:
        close = get_close_matches(name, gauge_items(), n=1)
        self.findings.append(
            InputFault(
                "the item is not one the tool knows; its reading is kept but no cause uses it",
                where=self.table.where(row, self.columns.item),
                wanted=f"perhaps {close[0]}" if close else "",
                got=repr(name[:40]),
            )
        )

    def _context(self, row: Row, item: GaugeItem) -> None:
        cells = [i for i in (*self.columns.readings, self.columns.spec) if i is not None and row.cells[i]]
        if item.kind is ItemKind.CODES:
            words = re.split(r"[\s;|,/]+", " ".join(row.cells[i] for i in cells).strip().lower())
            self.codes = tuple(word for word in words if word not in _NO_CODES)
        elif not cells:
            raise InputFault(f"the {item.label} is blank", where=f"{self.table.name}, row {row.number}")
        elif item.kind is ItemKind.TEXT:
            self.texts[item.name] = row.cells[cells[0]][:80]
        elif item.kind is ItemKind.COUNT:
            self.numbers[item.name] = self._count(row, cells[0])
        else:
            self.numbers[item.name] = self._value(row, cells[0], self._unit(row, item), item)

    def _count(self, row: Row, index: int) -> float:
        number = self.table.number(row, index)
        if number is None or number != int(number) or not 1 <= number <= 16:
            raise InputFault(
                "the number of cylinders is not believable",
                where=self.table.where(row, index),
                wanted="1 to 16",
                got=row.cells[index],
            )
        return number

    def _unit(self, row: Row, item: GaugeItem | None) -> str:
        where = self.table.where(row, self.columns.unit)
        unit = row.cells[self.columns.unit]
        if not unit:
            raise InputFault("the row has no unit", where=where, wanted=_wanted_units(item))
        dimension = known_unit(unit, where=where).dimension
        if item and item.dimension and dimension is not item.dimension:
            raise InputFault(
                "the unit does not measure this", where=where, wanted=_wanted_units(item), got=unit
            )
        return unit

    def _value(self, row: Row, index: int, unit: str, item: GaugeItem | None) -> float:
        where = self.table.where(row, index)
        number = self.table.number(row, index)
        if number is None:
            raise InputFault("the cell is blank", where=where)
        value = to_si(number, unit, where=where)
        if not (item.lowest <= value <= item.highest if item else abs(value) <= FARTHEST):
            raise InputFault(
                f"the {item.label if item else 'reading'} is not believable", where=where,
                got=f"{row.cells[index]} {unit}",
                remedy="Check the number and its unit",
            )  # fmt: skip
        return value

    def _optional(self, row: Row, index: int | None, unit: str, *, step: bool) -> float | None:
        if index is None:
            return None
        try:
            number = self.table.number(row, index)
            if number is None:
                return None
            if step and number < 0:
                raise InputFault(
                    "the tolerance is negative", where=self.table.where(row, index), got=row.cells[index]
                )
            return step_to_si(number, unit) if step else to_si(number, unit)
        except InputFault as fault:
            self.findings.append(fault)
            return None

    def _instrument(self, row: Row) -> tuple[Instrument | None, str]:
        """The instrument named, and which of its kind: `caliper`, or `caliper:C-12`."""
        index = self.columns.instrument
        if index is None or not row.cells[index]:
            return None, ""
        kind, _, mark = row.cells[index].partition(":")
        try:
            found = instrument(
                re.sub(r"[\s-]+", "_", kind.strip().lower()), where=self.table.where(row, index)
            )
        except InputFault as fault:
            self.findings.append(fault)
            return None, ""
        return found, mark.strip()

    def _reading(self, row: Row, name: str, item: GaugeItem | None) -> None:
        unit = self._unit(row, item)
        repeats: list[float] = []
        for index in self.columns.readings:
            try:
                if row.cells[index]:
                    repeats.append(self._value(row, index, unit, item))
            except InputFault as fault:
                self.findings.append(fault)
        if not repeats:
            if any(row.cells[i] for i in self.columns.readings):
                return
            raise InputFault(f"{name} has no readings", where=f"{self.table.name}, row {row.number}")
        tool, mark = self._instrument(row)
        self.readings[name] = GaugeReading(
            item=name,
            unit=unit,
            dimension=known_unit(unit).dimension,
            repeats=tuple(repeats),
            wanted=self._optional(row, self.columns.spec, unit, step=False),
            tolerance=self._optional(row, self.columns.tolerance, unit, step=True),
            instrument=tool,
            source=f"{self.table.name}, row {row.number}",
            mark=mark,
        )


def _wanted_units(item: GaugeItem | None) -> str:
    return f"a unit of {item.dimension.value}" if item and item.dimension else "a unit such as mm"


def read_gauges(path: Path | str) -> GaugeSheet:
    """The bench sheet in a CSV file: context, readings in SI, and a finding for each cell that is wrong.

    Raises:
        InputFault: the file as a whole cannot be used (unreadable, no header, no usable row).
    """
    table = read_table(Path(path))
    reader = _Reader(table)
    for row in table.rows:
        try:
            reader.take(row)
        except InputFault as fault:
            reader.findings.append(fault)
    if not (reader.readings or reader.numbers or reader.texts or reader.codes is not None):
        first = reader.findings[0] if reader.findings else None
        raise first or InputFault("the bench sheet has no rows", where=table.name, wanted="at least one item")
    cylinders = reader.numbers.get("cylinders")
    return GaugeSheet(
        name=table.name,
        engine=reader.texts.get("engine"),
        cylinders=int(cylinders) if cylinders else None,
        displacement=reader.numbers.get("displacement"),
        idle_speed=reader.numbers.get("idle_speed"),
        codes=reader.codes or (),
        readings=reader.readings,
        findings=tuple(reader.findings),
    )
