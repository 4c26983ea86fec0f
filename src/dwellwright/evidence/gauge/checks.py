"""Tables of checks of a gauge: readings of known sizes for a calibration, or of one master in order of time."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.calibration import Calibration, calibration
from dwellwright.evidence.gauge.drift import DriftChart, gauge_drift
from dwellwright.evidence.gauge.table import Table, column, read_table
from dwellwright.units import known_unit, to_si

FEWEST_SIZES = 3
FEWEST_CHECKS = 2


@dataclass(frozen=True)
class Checks:
    """Readings of a gauge beside what they should have been.

    Args:
        name: of the file.
        unit: they were typed in.
        truths: known sizes. [SI]
        readings: what the gauge said. [SI]
        findings: rows left out, each with its place.
    """

    name: str
    unit: str
    truths: tuple[float, ...]
    readings: tuple[float, ...]
    findings: tuple[InputFault, ...]


def _needed(table: Table, names: tuple[str, ...]) -> int:
    index = column(table, names)
    if index is None:
        raise InputFault(
            f"the table lacks a column `{names[0]}`",
            where=f"{table.name}, row 1",
            wanted="truth, reading, unit, in any order; one row for each check, in order of time",
            got=", ".join(table.header)[:120],
        )
    return index


def read_checks(path: Path | str) -> Checks:
    """Checks from a table with the known size, the reading and the unit in each row.

    Raises:
        InputFault: the file as a whole cannot be used, or no row can.
    """
    table = read_table(Path(path))
    truth = _needed(table, ("truth", "size", "master", "known", "standard"))
    reading, unit = _needed(table, ("reading", "reads", "shown", "check")), _needed(table, ("unit", "units"))
    truths, readings, findings, used = [], [], [], ""
    for row in table.rows:
        try:
            if row.fault:
                raise row.fault
            where = table.where(row, unit)
            dimension = known_unit(row.cells[unit], where=where).dimension
            if used and known_unit(used).dimension is not dimension:
                raise InputFault(
                    "the unit measures something else than the rows before", where=where, got=row.cells[unit]
                )
            pair = table.number(row, truth), table.number(row, reading)
            if pair[0] is None or pair[1] is None:
                raise InputFault("the row lacks a number", where=f"{table.name}, row {row.number}")
        except InputFault as fault:
            findings.append(fault)
            continue
        used = used or row.cells[unit]
        truths.append(to_si(pair[0], row.cells[unit]))
        readings.append(to_si(pair[1], row.cells[unit]))
    if not readings:
        raise (
            findings[0]
            if findings
            else InputFault("the table has no rows", where=table.name, wanted="at least two checks")
        )
    return Checks(table.name, used, tuple(truths), tuple(readings), tuple(findings))


def calibration_of(checks: Checks) -> Calibration:
    """The line through readings of known sizes. [SI]

    Raises:
        InputFault: fewer than three different sizes, or a gauge that does not move.
    """
    try:
        return calibration(checks.truths, checks.readings)
    except ValueError as fault:
        raise InputFault("nothing can be calibrated by this table", where=checks.name, got=str(fault),
                         wanted=f"readings of {FEWEST_SIZES} different sizes or more") from None  # fmt: skip


def drift_of(checks: Checks, repeatability: float) -> DriftChart:
    """Cumulative sums of reading less master, in the order of the rows. [SI]

    Args:
        checks: in order of time.
        repeatability: standard deviation of one check. [SI]

    Raises:
        InputFault: too few checks, or a repeatability that cannot be.
    """
    if len(checks.readings) < FEWEST_CHECKS or not repeatability > 0:
        raise InputFault("no drift can be seen in this", where=checks.name, got=f"{len(checks.readings)} checks",
                         wanted=f"{FEWEST_CHECKS} checks or more and a repeatability above zero")  # fmt: skip
    errors = [reading - truth for truth, reading in zip(checks.truths, checks.readings, strict=True)]
    return gauge_drift(errors, 0.0, repeatability)
