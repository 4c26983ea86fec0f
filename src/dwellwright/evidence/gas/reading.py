"""Exhaust gas readings from a typed table: four or five gases for each condition, as fractions."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import inf
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.evidence.gas.columns import (
    DAY,
    NEEDED,
    Channel,
    gas_channels,
    place_column,
    seconds_of,
    time_column,
    with_units,
)
from dwellwright.evidence.gauge.table import Row, Table, read_table
from dwellwright.evidence.observation import Regime

FAST_FROM, IDLE_BELOW = 1800.0, 1300.0
"""Engine speeds [rpm] that part a fast no-load reading from an idle one: common practice, no source."""

_WORDS = {Regime.IDLE: "idle", Regime.FAST_NO_LOAD: "fast, no load", Regime.CRUISE: "cruise"}
"""A condition in words, where the table has none."""

_LARGEST = {"co": 0.20, "co2": 0.20, "o2": 0.25, "hc": 0.05, "nox": 0.02}
_ZERO_DRIFT = {"co": 0.001, "co2": 0.002, "o2": 0.003, "hc": 30e-6, "nox": 30e-6}
"""Below zero by less than this is the analyzer's zero drift and counts as zero; assumed."""


@dataclass(frozen=True)
class GasReading:
    """One line of the analyzer: dry mole fractions.

    Args:
        condition: as typed.
        regime: where in the operating range.
        co: carbon monoxide. [-]
        co2: carbon dioxide. [-]
        o2: oxygen. [-]
        hc: hydrocarbons as the analyzer counts them, hexane equivalent unless the header says otherwise. [-]
        nox: oxides of nitrogen, None from a four-gas analyzer. [-]
        time: as a column of seconds counts it, or since the first reading where the column is a clock. [s]
        source: file and row.
        assumed: the table does not say where it was taken; `regime` is what the reader was told.
    """

    condition: str
    regime: Regime
    co: float
    co2: float
    o2: float
    hc: float
    nox: float | None = None
    time: float | None = None
    source: str = ""
    assumed: bool = False


def regime_of(condition: str, *, where: str = "") -> Regime:
    """Regime of a condition as people write it: `idle`, `hot idle`, `2500`, `2500 rpm`, `cruise`.

    Raises:
        InputFault: none of those.

    >>> regime_of("2500 rpm")
    <Regime.FAST_NO_LOAD: '3000'>
    """
    text = condition.strip().lower()
    speed = re.fullmatch(r"(\d{3,5}(?:\.\d*)?)\s*(rpm|r/min)?", text, re.ASCII)
    if speed:
        value = float(speed[1])
        if value >= FAST_FROM:
            return Regime.FAST_NO_LOAD
        if 300 <= value < IDLE_BELOW:
            return Regime.IDLE
    for word, regime in (("fast", Regime.FAST_NO_LOAD), ("idle", Regime.IDLE), ("cruise", Regime.CRUISE)):
        if word in text:
            return regime
    raise InputFault(
        "the condition of the gas reading is not understood",
        where=where,
        wanted="idle, 2500 (a speed without load), or cruise",
        got=repr(condition[:40]),
    )


def _gas(table: Table, row: Row, channel: Channel) -> float | None:
    number = table.number(row, channel.index)
    if number is None:
        return None
    value = number * channel.factor
    if not -_ZERO_DRIFT[channel.gas] <= value <= _LARGEST[channel.gas]:
        raise InputFault(
            f"the {channel.gas.upper()} reading is not believable",
            where=table.where(row, channel.index),
            wanted=f"0 to {_LARGEST[channel.gas] / channel.factor:g} in the column's unit",
            got=row.cells[channel.index],
            remedy="Check the number, and the analyzer's zero",
        )
    return max(value, 0.0)


def _needed(table: Table, row: Row, channel: Channel) -> float:
    value = _gas(table, row, channel)
    if value is None:
        raise InputFault(
            "the cell is blank", where=table.where(row, channel.index), wanted="a reading of every gas"
        )
    return value


@dataclass(frozen=True)
class _Layout:
    """What every row of a table is read with; `place` and `time` are columns, None where there is none."""

    table: Table
    channels: dict[str, Channel]
    place: int | None
    time: int | None
    told: Regime

    @property
    def by_clock(self) -> bool:
        """Whether the column of time is a clock, or date and time."""
        return self.time is not None and any(":" in row.cells[self.time] for row in self.table.rows)


def _reading(layout: _Layout, row: Row) -> GasReading:
    if row.fault:
        raise row.fault
    table, channels, place = layout.table, layout.channels, layout.place
    text = _WORDS.get(layout.told, layout.told.value) if place is None else row.cells[place]
    regime = layout.told if place is None else regime_of(text, where=table.where(row, place))
    gases = {gas: _needed(table, row, channels[gas]) for gas in NEEDED}
    if gases["co"] + gases["co2"] + gases["o2"] > 0.30:
        raise InputFault(
            "the gases add up to more than exhaust can hold",
            where=f"{table.name}, row {row.number}",
            wanted="CO + CO2 + O2 up to 30 %",
            got=f"{100 * (gases['co'] + gases['co2'] + gases['o2']):.1f} %",
        )
    return GasReading(
        condition=text,
        regime=regime,
        **gases,
        nox=_gas(table, row, channels["nox"]) if "nox" in channels else None,
        time=None if layout.time is None else seconds_of(table, row, layout.time),
        source=f"{table.name}, row {row.number}",
        assumed=place is None,
    )


def read_gas(
    path: Path | str, findings: list[InputFault] | None = None, told: Regime = Regime.IDLE
) -> list[GasReading]:
    """Readings of an exhaust gas table, in the order of its rows.

    Args:
        path: CSV with the four or five gases, units in the header or on a line below it, and a condition or the
            engine's speed.
        findings: collects a fault for each row that cannot be used. Without it the first such row raises,
            so that nothing is lost unseen.
        told: where all of it was taken, if the table has no column that says so; the readings are then marked
            `assumed`.

    Raises:
        InputFault: the file as a whole cannot be used, or no row can, or one row cannot and there is no
            `findings` to hold its fault.
    """
    table = with_units(read_table(Path(path)))
    layout = _Layout(table, gas_channels(table), place_column(table), time_column(table), told)
    readings: list[GasReading] = []
    faults: list[InputFault] = []
    for row in table.rows:
        try:
            readings.append(_reading(layout, row))
        except InputFault as fault:
            if findings is None:
                raise
            faults.append(fault)
    if not readings:
        raise faults[0] if faults else InputFault("the gas table has no rows", where=table.name)
    if findings is not None:
        findings.extend(faults)
    return _from_first(readings) if layout.by_clock else readings


def _from_first(readings: list[GasReading]) -> list[GasReading]:
    """The readings with their times counted from the first; past midnight a clock goes on."""
    times = [one.time for one in readings if one.time is not None]
    first, days, before = times[0] if times else 0.0, 0.0, -inf
    found = []
    for one in readings:
        time = one.time
        if time is not None:
            days += DAY if time - before < -DAY / 2 else 0.0
            before, time = time, time + days - first
        found.append(replace(one, time=time))
    return found
