"""Readings typed in by hand: by the bench sheet's items, or dwell, volts and speed at an operating point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.catalogue.shop_tests import shipped_tests
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.budget import Budget, Component, Kind, reading_budget
from dwellwright.evidence.gauge.corrected import Correction
from dwellwright.evidence.gauge.observe import observation
from dwellwright.evidence.gauge.sheet import GaugeReading
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records import jobs, readings
from dwellwright.records.audit import now
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.calibrations import Tool, tool_of
from dwellwright.units import (
    Dimension,
    duty_of_dwell,
    dwell_degrees,
    from_si,
    known_unit,
    step_from_si,
    step_to_si,
    to_si,
)

USUAL = Tool()
DWELL_METER = 0.5
"""Standard uncertainty of a mean read from a swinging dwell needle: half a degree, assumed. [deg]"""


@dataclass(frozen=True)
class PlainItem:
    """A reading at an operating point that is on no bench sheet: what it is, and its doubt in `unit`. Assumed."""

    measured: Measured
    unit: str
    uncertainty: float
    lowest: float
    highest: float


PLAIN_ITEMS: dict[str, PlainItem] = {
    "dwell": PlainItem(Measured.DUTY, "deg", DWELL_METER, 0.0, 60.0),
    "sensor_mean": PlainItem(Measured.SENSOR_MEAN, "mV", 30.0, -200.0, 1300.0),
    "sensor_high": PlainItem(Measured.SENSOR_HIGH, "mV", 20.0, -200.0, 1300.0),
    "sensor_low": PlainItem(Measured.SENSOR_LOW, "mV", 20.0, -200.0, 1300.0),
    "engine_speed": PlainItem(Measured.ENGINE_SPEED, "rpm", 15.0, 100.0, 8000.0),
    "throttle_voltage": PlainItem(Measured.THROTTLE_VOLTAGE, "V", 0.02, 0.0, 6.0),
    "idle_roughness": PlainItem(Measured.IDLE_ROUGHNESS, "1", 0.4, 0.0, 3.0),
    "coolant": PlainItem(Measured.COOLANT_TEMPERATURE, "degC", 2.0, -40.0, 150.0),
    "pulse_rate": PlainItem(Measured.PULSE_RATE, "Hz", 0.1, 1.0, 60.0),
    "lambda": PlainItem(Measured.GAS_LAMBDA, "1", 0.015, 0.6, 1.6),
} | {
    one.after: PlainItem(
        Measured(one.after), one.unit, step_from_si(one.doubt, one.unit), one.lowest, one.highest
    )
    for one in shipped_tests()
    if one.result
}
"""Items beside those of the bench sheet, results of searches among them.

Doubts are assumed: plain shop instruments, read by eye."""


def known_items() -> list[str]:
    """Every item a reading can be typed in for."""
    return sorted({*PLAIN_ITEMS, *(name for name, item in gauge_items().items() if item.measured)})


def add_reading(
    shop: Shop,
    number: int,
    item: str,
    values: Sequence[float],
    unit: str,
    side: Side,
    who: str,
    *,
    regime: Regime = Regime.IDLE,
    wanted: float | None = None,
    tool: str | None = None,
) -> readings.ReadingRecord:
    """Store a reading typed in by hand; it supersedes an earlier typed one of the same thing.

    Args:
        shop: where.
        number: of the job.
        item: of the bench sheet, or one of `PLAIN_ITEMS`.
        values: every repeat, in `unit`.
        unit: of the values; `deg` for dwell is on the six-cylinder scale, `%` its duty.
        side: before or after the work.
        who: who read it.
        regime: where in the operating range, for an item that has no place of its own.
        wanted: specification, in `unit`.
        tool: instrument of the catalogue, where it is not the usual one; `kind:mark` for one of the shop's own, whose
            calibration then corrects the reading; `gauge:` and a name for a gauge made here, by its true size.

    Raises:
        InputFault: no such job, item, unit or instrument, no values, or a value that cannot be.
    """
    used = tool_of(shop, tool, item, values, unit)
    seen = typed_observation(item, values, unit, regime, wanted=wanted, tool=used, who=who)
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        identity = readings.store_reading(connection, number, side, seen, who)
        jobs.advance_job(connection, number, JobStage.EVIDENCE, who)
        found = readings.readings_of(connection, number)
    return next(one for one in found if one.id == identity)


def take_back_reading(shop: Shop, number: int, who: str) -> readings.ReadingRecord:
    """Undo the last typed reading of a job; what it had superseded counts again.

    Raises:
        InputFault: no such job, or it has no typed reading.
    """
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        return readings.withdraw_last_reading(connection, number, who)


def reading_history(shop: Shop, number: int) -> list[readings.ReadingRecord]:
    """Every reading a job ever had, with those superseded or taken back.

    Raises:
        InputFault: no such job.
    """
    with reading(shop.engine) as connection:
        jobs.job_record(connection, number)
        return readings.readings_of(connection, number, history=True)


def typed_observation(
    item: str,
    values: Sequence[float],
    unit: str,
    regime: Regime,
    *,
    wanted: float | None = None,
    tool: Tool = USUAL,
    who: str = "",
) -> Observation:
    """What a person typed, as an observation; corrected by what is known of the very instrument, which it then says.

    Raises:
        InputFault: no such item, unit or instrument, no values, or a value that cannot be.
    """
    name = item.strip().lower().replace("-", "_").replace(" ", "_")
    if not values:
        raise InputFault("the reading has no value", where=item, wanted="at least one number")
    source = f"typed in by {who}" if who else "typed in"
    moment = now()
    if name in PLAIN_ITEMS:
        plain = _plain(name, values, unit, regime, wanted, tool)
        return replace(plain, source=source + _said(tool.correction, values, unit), time=moment)
    known = gauge_items().get(name)
    if known is None or known.measured is None:
        close = get_close_matches(name, known_items(), n=3)
        raise InputFault("no such reading", wanted=", ".join(close or known_items()), got=repr(item))
    _refuse_unit(item, unit, known.dimension)
    repeats = tuple(to_si(value, unit, where=item) for value in values)
    _refuse_unbelievable(item, repeats, (known.lowest, known.highest), unit)
    target = None if wanted is None else to_si(wanted, unit, where=item)
    dimension = known_unit(unit).dimension
    used = _instrument(tool, item, dimension)
    typed = GaugeReading(known.name, unit, dimension, repeats, target, None, used, source)
    seen = observation(typed, tool.correction)
    if seen is None:
        raise InputFault("this reading is used by no cause", where=item)
    return replace(seen, source=source + _said(tool.correction, values, unit), time=moment)


def _said(correction: Correction | None, values: Sequence[float], unit: str) -> str:
    """What was done to the mean of what was read, in its unit."""
    if correction is None:
        return ""
    return f"; {correction.words(to_si(sum(values) / len(values), unit), unit)}"


def _instrument(tool: Tool, item: str, dimension: Dimension) -> Instrument | None:
    used = instrument(tool.kind, where=item) if tool.kind else None
    if used and not used.measures(dimension):
        raise InputFault("this instrument does not measure that", where=item, got=used.label)
    return used


def _plain(
    name: str, values: Sequence[float], unit: str, regime: Regime, wanted: float | None, tool: Tool
) -> Observation:
    item = PLAIN_ITEMS[name]
    own, duty = known_unit(item.unit).dimension, item.measured is Measured.DUTY
    in_percent = duty and known_unit(unit, where=name).dimension is Dimension.FRACTION
    if not in_percent:
        _refuse_unit(name, unit, own)

    def in_own(value: float) -> float:
        si = to_si(value, unit, where=name)
        return dwell_degrees(si) if in_percent else si

    used = _instrument(tool, name, own)
    repeats = tuple(in_own(value) for value in values)
    inside = [duty_of_dwell(one) for one in repeats] if duty else repeats
    _refuse_unbelievable(name, inside, inside_limits(item), unit)
    budget = reading_budget(repeats, used) if used else _assumed_budget(repeats, item)
    if tool.correction:
        budget = tool.correction.corrected(budget)
    value, doubt = budget.value, budget.normal_equivalent
    target = None if wanted is None else in_own(wanted)
    if duty:
        value, doubt = duty_of_dwell(value), duty_of_dwell(doubt)
        target = None if target is None else duty_of_dwell(target)
    return Observation(item.measured, regime, value, doubt, "", target)


def _assumed_budget(repeats: tuple[float, ...], item: PlainItem) -> Budget:
    """Budget of a reading whose instrument nobody named: the item's assumed doubt and the spread of the repeats."""
    mean = sum(repeats) / len(repeats)
    parts = [Component("instrument and eye", step_to_si(item.uncertainty, item.unit))]
    if len(repeats) > 1:
        spread = sum((one - mean) ** 2 for one in repeats) / (len(repeats) - 1) / len(repeats)
        parts.append(Component("repeats", spread**0.5, kind=Kind.TYPE_A))
    return Budget(mean, tuple(parts))


def inside_limits(item: PlainItem) -> tuple[float, float]:
    """Lowest and highest believable value. [SI; dwell as duty]"""
    low, high = to_si(item.lowest, item.unit), to_si(item.highest, item.unit)
    return (duty_of_dwell(low), duty_of_dwell(high)) if item.measured is Measured.DUTY else (low, high)


def _refuse_unit(item: str, unit: str, dimension: Dimension | None) -> None:
    if known_unit(unit, where=item).dimension is not dimension:
        wanted = dimension.value if dimension else "no unit"
        raise InputFault("the unit does not measure this", where=item, wanted=f"a unit of {wanted}", got=unit)


def _refuse_unbelievable(item: str, values: Sequence[float], limits: tuple[float, float], unit: str) -> None:
    for value in values:
        if not limits[0] - 1e-12 <= value <= limits[1] + 1e-12:
            shown = [end * 60 if unit == "deg" else from_si(end, unit) for end in (*limits, value)]
            raise InputFault("the reading is not believable", where=item, got=f"{shown[2]:g} {unit}",
                             wanted=f"{shown[0]:g} to {shown[1]:g} {unit}",
                             remedy="Check the number and its unit")  # fmt: skip
