"""Exhaust gas readings from a typed table: four or five gases for each condition, as fractions."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.table import Row, Table, column, read_table
from dwellwright.evidence.observation import Regime

FAST_FROM, IDLE_BELOW = 1800.0, 1300.0
"""Engine speeds [rpm] that part a fast no-load reading from an idle one: common practice, no source."""

_FACTOR = {
    "pct": 1e-2,
    "%": 1e-2,
    "vol_pct": 1e-2,
    "vol%": 1e-2,
    "percent": 1e-2,
    "ppm": 1e-6,
    "ppmvol": 1e-6,
    "1": 1.0,
}
_HEXANE_PER = {"": 1.0, "hexane": 1.0, "c6": 1.0, "propane": 0.5, "c3": 0.5, "c1": 1 / 6, "methane": 1 / 6}
"""Hydrocarbons counted in another molecule, as hexane by equal carbon."""

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
        time: since the start of the record, if a column gives it. [s]
        source: file and row.
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


@dataclass(frozen=True)
class _Channel:
    gas: str
    index: int
    factor: float


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


def _channel(table: Table, gas: str) -> _Channel | None:
    pattern = re.compile(rf"{gas}(?:_?[\[(_]_?([^\])]*)[\])]?)?")
    found = [(index, match) for index, name in enumerate(table.header) if (match := pattern.fullmatch(name))]
    if len(found) > 1:
        names = ", ".join(table.header[index] for index, _ in found)
        raise InputFault("two columns hold the same gas", where=f"{table.name}, header", got=names)
    if not found:
        return None
    index, match = found[0]
    where = f"{table.name}, header, {table.header[index]}"
    return _Channel(gas, index, _unit_factor(gas, match[1] or "", where))


def _channels(table: Table) -> dict[str, _Channel]:
    channels = {gas: channel for gas in _LARGEST if (channel := _channel(table, gas))}
    missing = [gas for gas in ("co", "co2", "o2", "hc") if gas not in channels]
    if missing:
        raise InputFault(
            f"the gas table lacks {', '.join(missing)}",
            where=f"{table.name}, row 1",
            wanted="condition, co_pct, co2_pct, o2_pct, hc_ppm in any order",
            got=", ".join(table.header)[:120],
        )
    return channels


def _gas(table: Table, row: Row, channel: _Channel) -> float | None:
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


def _needed(table: Table, row: Row, channel: _Channel) -> float:
    value = _gas(table, row, channel)
    if value is None:
        raise InputFault(
            "the cell is blank", where=table.where(row, channel.index), wanted="a reading of every gas"
        )
    return value


def _reading(
    table: Table, row: Row, channels: dict[str, _Channel], condition: int, time: int | None
) -> GasReading:
    if row.fault:
        raise row.fault
    text = row.cells[condition]
    regime = regime_of(text, where=table.where(row, condition))
    gases = {gas: _needed(table, row, channels[gas]) for gas in ("co", "co2", "o2", "hc")}
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
        time=table.number(row, time) if time is not None else None,
        source=f"{table.name}, row {row.number}",
    )


def read_gas(path: Path | str, findings: list[InputFault] | None = None) -> list[GasReading]:
    """Readings of an exhaust gas table, in the order of its rows.

    Args:
        path: CSV with a condition and the four or five gases, units in the header.
        findings: collects a fault for each row that cannot be used. Without it the first such row raises,
            so that nothing is lost unseen.

    Raises:
        InputFault: the file as a whole cannot be used, or no row can, or one row cannot and there is no
            `findings` to hold its fault.
    """
    table = read_table(Path(path))
    channels = _channels(table)
    condition = column(table, ("condition", "regime", "state", "rpm", "speed_rpm", "engine_speed"))
    if condition is None:
        raise InputFault(
            "the gas table has no condition", where=f"{table.name}, row 1", wanted="a column `condition`"
        )
    time = column(table, ("time_s", "time", "t_s"))
    readings: list[GasReading] = []
    faults: list[InputFault] = []
    for row in table.rows:
        try:
            readings.append(_reading(table, row, channels, condition, time))
        except InputFault as fault:
            if findings is None:
                raise
            faults.append(fault)
    if not readings:
        raise faults[0] if faults else InputFault("the gas table has no rows", where=table.name)
    if findings is not None:
        findings.extend(faults)
    return readings
