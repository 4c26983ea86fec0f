"""Which column of a gas table is what: the gases with their units, the place, and the time in its several forms."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.table import Row, Table

GASES = ("co", "co2", "o2", "hc", "nox")
NEEDED = ("co", "co2", "o2", "hc")

_FACTOR = {
    "pct": 1e-2,
    "%": 1e-2,
    "vol_pct": 1e-2,
    "vol%": 1e-2,
    "%vol": 1e-2,
    "%_vol": 1e-2,
    "vol_%": 1e-2,
    "percent": 1e-2,
    "ppm": 1e-6,
    "ppmvol": 1e-6,
    "ppm_vol": 1e-6,
    "1": 1.0,
}
_HEXANE_PER = {"": 1.0, "hexane": 1.0, "c6": 1.0, "propane": 0.5, "c3": 0.5, "c1": 1 / 6, "methane": 1 / 6}
"""Hydrocarbons counted in another molecule, as hexane by equal carbon."""

_PLACES = {"condition", "regime", "state", "mode"}
_SPEEDS = {"rpm", "speed", "engine_speed", "engine_rpm", "engine", "n"}
_TIMES = {"time", "t", "timestamp", "seconds", "elapsed", "date_time", "datetime"}
_UNIT_AFTER = re.compile(r"[_\[(]+(rpm|1/min|r/min|min-1|s|sec|seconds|ms|min|h:m:s|hh:mm:ss)[\])]*$")
_TIME_SCALES = {"ms": 1e-3, "min": 60.0}
_CLOCK = re.compile(r"(\d{1,3}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?", re.ASCII)
DAY = 86400.0


@dataclass(frozen=True)
class Channel:
    """One gas of a table: its column, and what one of its numbers is as a fraction."""

    gas: str
    index: int
    factor: float


def with_units(table: Table) -> Table:
    """The table with a line of units below its names taken into them.

    >>> found = Table("gas.csv", ("co", "hc"), (Row(2, ("%", "ppm")), Row(3, ("0.5", "90"))), False)
    >>> with_units(found).header
    ('co_%', 'hc_ppm')
    """
    if not table.rows or table.rows[0].fault:
        return table
    units = [re.sub(r"\s+", "_", cell.strip("[]() ").lower()) for cell in table.rows[0].cells]
    gases = [unit for name, unit in zip(table.header, units, strict=True) if name in GASES]
    if not gases or not all(unit in _FACTOR for unit in gases):
        return table
    names = tuple(f"{name}_{unit}" if unit else name for name, unit in zip(table.header, units, strict=True))
    return replace(table, header=names, rows=table.rows[1:])


def gas_channels(table: Table) -> dict[str, Channel]:
    """The gases of a table by name; the fifth, oxides of nitrogen, only where it has a column.

    Raises:
        InputFault: a gas is missing, stands twice, or has no unit that is known.
    """
    channels = {gas: channel for gas in GASES if (channel := _channel(table, gas))}
    missing = [gas for gas in NEEDED if gas not in channels]
    if missing:
        raise InputFault(
            f"the gas table lacks {', '.join(missing)}",
            where=f"{table.name}, row 1",
            wanted="condition, co_pct, co2_pct, o2_pct, hc_ppm in any order",
            got=", ".join(table.header)[:120],
        )
    return channels


def _channel(table: Table, gas: str) -> Channel | None:
    found = [(index, _unit_of(name, gas)) for index, name in enumerate(table.header)]
    found = [(index, unit) for index, unit in found if unit is not None]
    if len(found) > 1:
        names = ", ".join(table.header[index] for index, _ in found)
        raise InputFault("two columns hold the same gas", where=f"{table.name}, header", got=names)
    for index, unit in found:
        return Channel(
            gas, index, _unit_factor(gas, unit or "", f"{table.name}, header, {table.header[index]}")
        )
    return None


def _unit_of(name: str, gas: str) -> str | None:
    """The unit that a column's name gives of a gas, perhaps none; None where the column is of something else.

    >>> _unit_of("co_[%]", "co"), _unit_of("co%", "co"), _unit_of("co2_pct", "co"), _unit_of("no", "nox")
    ('%', '%', None, None)
    """
    rest = re.fullmatch(rf"{gas}(?![a-z0-9])(.*)", name)
    if rest:
        return rest[1].strip("_[]()")
    plain = re.fullmatch(r"no(?![a-z0-9])(.*)", name) if gas == "nox" else None
    unit = plain[1].strip("_[]()") if plain else ""
    return unit if unit in _FACTOR else None


def _unit_factor(gas: str, unit: str, where: str) -> float:
    basis = re.fullmatch(r"(.*?)(?:_?(?:as_)?(hexane|c6|propane|c3|c1|methane))?", unit)
    plain, molecule = (basis[1], basis[2] or "") if basis else (unit, "")
    if plain not in _FACTOR or (molecule and gas != "hc"):
        raise InputFault(
            "the gas column has no unit that is known",
            where=where,
            wanted=f"{gas}_pct or {gas}_ppm",
            got=repr(unit),
        )
    return _FACTOR[plain] * _HEXANE_PER[molecule]


def place_column(table: Table) -> int | None:
    """The column that says where each reading was taken: its condition, else the engine's speed.

    Raises:
        InputFault: two columns answer.
    """
    for words in (_PLACES, _SPEEDS):
        if (found := _only(table, words)) is not None:
            return found
    return None


def time_column(table: Table) -> int | None:
    """The column of time, if there is one.

    Raises:
        InputFault: two columns answer.
    """
    return _only(table, _TIMES)


def _only(table: Table, words: set[str]) -> int | None:
    found = [index for index, name in enumerate(table.header) if _UNIT_AFTER.sub("", name) in words]
    if len(found) > 1:
        raise InputFault(
            "two columns say the same",
            where=f"{table.name}, header",
            got=", ".join(table.header[i] for i in found),
        )
    return found[0] if found else None


def seconds_of(table: Table, row: Row, column: int) -> float | None:
    """The time of a row: a number in the header's unit, a clock, or date and time; None if it is blank. [s]

    Raises:
        InputFault: the cell holds something else.
    """
    text = row.cells[column]
    clock = _CLOCK.fullmatch(text)
    if clock:
        return 3600.0 * int(clock[1]) + 60.0 * int(clock[2]) + float((clock[3] or "0").replace(",", "."))
    if "-" in text[1:] and ":" in text:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            pass
        else:
            return (
                moment.toordinal() * DAY
                + 3600.0 * moment.hour
                + 60.0 * moment.minute
                + moment.second
                + 1e-6 * (moment.microsecond)
            )
    number = table.number(row, column)
    unit = _UNIT_AFTER.search(table.header[column])
    return None if number is None else number * _TIME_SCALES.get(unit[1] if unit else "", 1.0)
