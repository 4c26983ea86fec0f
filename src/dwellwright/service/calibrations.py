"""Calibrations of the shop's own instruments, and what they do to a reading that names its instrument."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.calibration import Calibration, calibration
from dwellwright.evidence.gauge.checks import Checks, calibration_of, read_checks
from dwellwright.evidence.gauge.corrected import Correction, InstrumentLine, NoLine
from dwellwright.records.calibrations import (
    CalibrationRecord,
    KnownSizes,
    calibration_records,
    store_calibration,
    withdraw_calibration,
)
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop
from dwellwright.service.gauge_cards import PREFIX, gauge_labels, truth_for
from dwellwright.service.shop_profile import OwnInstrument, add_instrument, calibration_day, shop_profile
from dwellwright.units import from_si, known_unit, step_from_si, step_to_si

STEEPEST = 1.25
"""A line steeper than this, or flatter than its inverse, is a slip of columns or units (assumed). [-]"""


def tool_name(kind: str, mark: str) -> str:
    """How a reading names one instrument of the shop."""
    return f"{kind}:{mark}"


def _parted(tool: str) -> tuple[Instrument, str]:
    kind, _, mark = tool.partition(":")
    known, plain = instrument(kind.strip(), where="instrument"), " ".join(mark.split())
    if not plain:
        raise InputFault("the instrument has no mark", where="instrument", got=repr(tool),
                         wanted="kind:mark, such as caliper:C-12")  # fmt: skip
    return known, plain


@dataclass(frozen=True)
class CalibratedInstrument:
    """One instrument of the shop as it stands: `record` is the calibration that counts, None where none is kept."""

    own: OwnInstrument
    record: CalibrationRecord | None

    @property
    def tool(self) -> str:
        """How a reading names it."""
        return tool_name(self.own.kind, self.own.mark)

    @property
    def label(self) -> str:
        """In words, with its mark."""
        return f"our {instrument(self.own.kind).label} {self.own.mark}"

    @property
    def correction(self) -> Correction:
        """What its calibration does to a reading."""
        if self.record is None:
            return NoLine(self.label)
        done, standing = self.record.done, self.own.standing(date.today())
        said = f"calibration {standing}" if standing in ("overdue", "due soon") else ""
        return InstrumentLine(self.label, done.day.isoformat(), line_of(self.record), done.size_doubt,
                              instrument(done.kind).resolution, said)  # fmt: skip

    @property
    def words(self) -> str:
        """The calibration in one line; empty where none is kept."""
        return "" if self.record is None else line_words(self.record)


def line_of(record: CalibrationRecord) -> Calibration:
    """The line through a kept calibration. [SI]"""
    return calibration(record.done.truths, record.done.readings)


def line_words(record: CalibrationRecord) -> str:
    """A kept calibration in one line."""
    line, unit = line_of(record), record.done.unit
    low, high, middle = (from_si(one, unit) for one in (line.lowest, line.highest, line.middle))
    error = step_from_si(line.offset + (line.slope - 1) * line.middle, unit)
    needs = "corrected by it" if line.needs_correction() else "within chance of the truth, nothing corrected"
    return (f"{low:.6g} to {high:.6g} {unit}: reads {error:+.2g} {unit} too much at {middle:.4g}, "
            f"slope {line.slope:.5g}; {needs}")  # fmt: skip


def calibrated_instruments(shop: Shop) -> list[CalibratedInstrument]:
    """Every instrument of the shop with the calibration that counts: the latest by its day, of one day the last kept.

    Raises:
        InputFault: the shop's own file was damaged.
    """
    with reading(shop.engine) as connection:
        kept = calibration_records(connection)
    newest = {
        (one.done.kind, one.done.mark): one for one in sorted(kept, key=lambda one: (one.done.day, one.id))
    }
    found = []
    for own in shop_profile(shop).instruments:
        record = newest.get((own.kind, own.mark))
        days = [day for day in (own.calibrated, record.done.day if record else None) if day]
        found.append(CalibratedInstrument(replace(own, calibrated=max(days, default=None)), record))
    return found


def calibration_history(shop: Shop) -> list[CalibrationRecord]:
    """Every calibration ever kept, those taken back among them, in the order they came."""
    with reading(shop.engine) as connection:
        return calibration_records(connection, history=True)


def keep_calibration(
    shop: Shop, path: Path, tool: str, size_doubt: float | None, day: str, who: str
) -> CalibratedInstrument:
    """Keep a calibration for one instrument of the shop; readings that name it from now on are corrected by it.

    An instrument that is not on the shop's list yet is put there.

    Args:
        shop: where.
        path: of the table: truth, reading, unit in each row.
        tool: the instrument as `kind:mark`.
        size_doubt: standard uncertainty of the known sizes, in the table's unit.
        day: when it was done, as YYYY-MM-DD; today where empty.
        who: who keeps it.

    Raises:
        InputFault: the table, the instrument, the doubt or the day cannot be.
    """
    known, mark = _parted(tool)
    checks = read_checks(path)
    line = calibration_of(checks)
    _refuse_odd_line(known, checks, line)
    if size_doubt is None or not (doubt := step_to_si(size_doubt, checks.unit, where="known sizes")) >= 0:
        raise InputFault("how far the known sizes can be trusted is not said", where=tool,
                         wanted=f"their standard uncertainty in {checks.unit}; their certificate tells it")  # fmt: skip
    done = KnownSizes(known.name, mark, calibration_day(day.strip()) or date.today(), checks.unit, checks.truths,
                      checks.readings, doubt, checks.name)  # fmt: skip
    if (known.name, mark) not in {(one.kind, one.mark) for one in shop_profile(shop).instruments}:
        add_instrument(shop, known.name, mark, "", None)
    with writing(shop.engine) as connection:
        store_calibration(connection, done, who)
    return own_instrument(shop, tool)


def _refuse_odd_line(known: Instrument, checks: Checks, line: Calibration) -> None:
    if not known.measures(known_unit(checks.unit).dimension):
        raise InputFault("this instrument does not measure that", where=checks.name, got=checks.unit,
                         wanted=f"a unit that a {known.label} reads")  # fmt: skip
    if not 1 / STEEPEST <= line.slope <= STEEPEST:
        raise InputFault("the readings are far from the known sizes", where=checks.name, got=f"slope {line.slope:.3g}",
                         wanted=f"{1 / STEEPEST:g} to {STEEPEST:g}",
                         remedy="Check that truth and reading are not swapped, and the units")  # fmt: skip


def take_back_calibration(shop: Shop, tool: str, who: str) -> CalibrationRecord:
    """Undo the last calibration kept for an instrument; the one before counts again. Readings stay as they are.

    Raises:
        InputFault: no such kind, or there is nothing to take back.
    """
    known, mark = _parted(tool)
    with writing(shop.engine) as connection:
        return withdraw_calibration(connection, known.name, mark, who)


def own_instrument(shop: Shop, tool: str) -> CalibratedInstrument:
    """The instrument of the shop that a reading names as `kind:mark`.

    Raises:
        InputFault: the shop has none of that name.
    """
    known, mark = _parted(tool)
    found = {one.tool: one for one in calibrated_instruments(shop)}
    name = tool_name(known.name, mark)
    if name not in found:
        raise InputFault("the shop has no such instrument", got=repr(tool),
                         wanted=", ".join(found) or "one on its list",
                         remedy="Put it on the shop's list, or keep a calibration for it")  # fmt: skip
    return found[name]


@dataclass(frozen=True)
class Tool:
    """What a reading was taken with: kind in the catalogue (None for the usual one), and what is known of this one."""

    kind: str | None = None
    correction: Correction | None = None


def tool_of(shop: Shop, tool: str | None, item: str, values: Sequence[float], unit: str) -> Tool:
    """What a reading was taken with, as it names it.

    Args:
        shop: where.
        tool: a kind of the catalogue, `kind:mark` of the shop, or `gauge:` and the name of a gauge made here.
        item: what was read.
        values: every repeat, in `unit`.
        unit: of the values.

    Raises:
        InputFault: no such instrument or gauge, or the gauge is made for something else.
    """
    if not tool:
        return Tool()
    if tool.startswith(PREFIX):
        return Tool(None, truth_for(shop, tool, item, values, unit))
    if ":" not in tool:
        return Tool(tool)
    found = own_instrument(shop, tool)
    return Tool(found.own.kind, found.correction)


def tool_labels(shop: Shop) -> dict[str, str]:
    """Instruments and gauges of the shop to choose from, by how a reading names them; none where a file is damaged."""
    try:
        own = {one.tool: one.label for one in calibrated_instruments(shop)}
    except InputFault:
        own = {}
    return {**own, **gauge_labels(shop)}


def corrections(shop: Shop) -> Mapping[str, Correction]:
    """What is known of every instrument of the shop, by how a reading names it."""
    try:
        return {one.tool: one.correction for one in calibrated_instruments(shop)}
    except InputFault:
        return {}
