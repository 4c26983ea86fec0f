"""Controllers as data: what a feedback-carburetor controller does, in numbers with their source.

Duty here is the energized share, as the unit's driver sees it. `loop.controller` runs these records.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise
from math import isfinite
from pathlib import Path
from typing import Any

from dwellwright.catalogue.controller_rules import LOOP_SIGNALS, Condition, LampRule, OpenLoopRule, Signal
from dwellwright.errors import InputFault
from dwellwright.units import UNITS, Dimension, known_unit, to_si


@dataclass(frozen=True)
class Controller:
    """A closed-loop mixture controller.

    Args:
        name: key in its file.
        title: one line for people.
        energized_is_lean: False for a valve that enriches when energized.
        pulse_rate: of the solenoid. [Hz]
        threshold_voltage: divides rich from lean. [V]
        input_bias_voltage: what the sensor input reads with nothing connected. [V]
        input_resistance: that bias comes through. [ohm]
        silent_low: lower end of the window in which a sensor counts as silent. [V]
        silent_high: upper end. [V]
        silent_time: silence after which the loop opens. [s]
        low_limit: least duty in closed loop. [-]
        high_limit: greatest duty in closed loop. [-]
        start_duty: at switch-on. [-]
        jump: half the proportional step at a switch, off idle. [-]
        idle_jump: the same at idle. [-]
        idle_throttle_voltage: below it the engine is taken to idle. [V]
        idle_lean_ramp: rate towards lean at idle. [1/s]
        idle_rich_ramp: rate towards rich at idle. [1/s]
        ramp_speed: engine speeds of the ramp table, rising. [1/s]
        lean_ramp: rate towards lean at those speeds. [1/s]
        rich_ramp: rate towards rich at those speeds. [1/s]
        waiting_coolant: coolant temperatures of the waiting table, rising. [K]
        waiting_duty: duty while the sensor is not ready. [-]
        open_loop: rules, the first that holds wins.
        lamp: rules of the warning lamp.
    """

    name: str
    title: str
    energized_is_lean: bool
    pulse_rate: float
    threshold_voltage: float
    input_bias_voltage: float
    input_resistance: float
    silent_low: float
    silent_high: float
    silent_time: float
    low_limit: float
    high_limit: float
    start_duty: float
    jump: float
    idle_jump: float
    idle_throttle_voltage: float
    idle_lean_ramp: float
    idle_rich_ramp: float
    ramp_speed: tuple[float, ...]
    lean_ramp: tuple[float, ...]
    rich_ramp: tuple[float, ...]
    waiting_coolant: tuple[float, ...]
    waiting_duty: tuple[float, ...]
    open_loop: tuple[OpenLoopRule, ...] = ()
    lamp: tuple[LampRule, ...] = ()

    def __post_init__(self) -> None:
        if not self.pulse_rate > 0:
            raise ValueError(f"pulse rate must be positive, got {self.pulse_rate} Hz")
        if not 0 <= self.low_limit < self.high_limit <= 1:
            raise ValueError(f"limits must rise within 0 and 1, got {self.low_limit} and {self.high_limit}")
        if not self.silent_low < self.silent_high:
            raise ValueError(f"silent window must rise, got {self.silent_low} and {self.silent_high} V")
        if not self.input_resistance > 0:
            raise ValueError(f"input resistance must be positive, got {self.input_resistance} ohm")
        shares = (self.start_duty, *self.waiting_duty, *(rule.duty for rule in self.open_loop))
        if not all(0 <= share <= 1 for share in shares):
            raise ValueError(f"duties must lie within 0 and 1, got {shares}")
        for axis, *columns in (
            (self.ramp_speed, self.lean_ramp, self.rich_ramp),
            (self.waiting_coolant, self.waiting_duty),
        ):
            _check_table(axis, *columns)
        rates = (
            self.idle_lean_ramp,
            self.idle_rich_ramp,
            *self.lean_ramp,
            *self.rich_ramp,
            self.jump,
            self.idle_jump,
        )
        if min(rates) < 0:
            raise ValueError(f"ramps and jumps must not be negative, got {min(rates)}")


def _check_table(axis: Sequence[float], *columns: Sequence[float]) -> None:
    if not axis or any(len(column) != len(axis) for column in columns):
        raise ValueError(
            f"table columns must be as long as their axis, got {len(axis)} and {[*map(len, columns)]}"
        )
    if any(b <= a for a, b in pairwise(axis)):
        raise ValueError(f"table axis must rise, got {tuple(axis)}")


_D = Dimension
_NUMBERS = {
    "pulse_rate": _D.FREQUENCY, "threshold_voltage": _D.VOLTAGE, "input_bias_voltage": _D.VOLTAGE,
    "input_resistance": _D.RESISTANCE, "silent_low": _D.VOLTAGE, "silent_high": _D.VOLTAGE, "silent_time": _D.TIME,
    "low_limit": _D.FRACTION, "high_limit": _D.FRACTION, "start_duty": _D.FRACTION, "jump": _D.FRACTION,
    "idle_jump": _D.FRACTION, "idle_throttle_voltage": _D.VOLTAGE, "idle_lean_ramp": _D.FRACTION,
    "idle_rich_ramp": _D.FRACTION,
}  # fmt: skip
_TABLES = {
    "ramp_speed": _D.FREQUENCY, "lean_ramp": _D.FRACTION, "rich_ramp": _D.FRACTION, "waiting_coolant": _D.TEMPERATURE,
    "waiting_duty": _D.FRACTION,
}  # fmt: skip
_SIGNALS = {
    Signal.TIME: _D.TIME, Signal.ENGINE_SPEED: _D.FREQUENCY, Signal.AIR_FLOW: _D.FLOW,
    Signal.COOLANT_TEMPERATURE: _D.TEMPERATURE, Signal.SENSOR_TEMPERATURE: _D.TEMPERATURE,
    Signal.THROTTLE_VOLTAGE: _D.VOLTAGE, Signal.BATTERY_VOLTAGE: _D.VOLTAGE, Signal.DUTY: _D.FRACTION,
    Signal.SENSOR_VOLTAGE: _D.VOLTAGE, Signal.CLOSED: _D.FRACTION,
}  # fmt: skip


def _entry(table: Mapping[str, Any], key: str, where: str) -> Any:
    if key not in table:
        raise InputFault("a field is missing", where=where, wanted=key, remedy=f"add {key}")
    return table[key]


def _value(entry: Mapping[str, Any], value: Any, dimension: Dimension, where: str) -> float:
    unit = str(_entry(entry, "unit", where))
    if known_unit(unit, where=where).dimension is not dimension:
        names = ", ".join(name for name, known in UNITS.items() if known.dimension is dimension)
        raise InputFault("a unit that measures something else", where=where, wanted=names, got=unit)
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise InputFault("not a number", where=where, wanted="a finite number", got=repr(value))
    return to_si(float(value), unit, where=where)


def _number(table: Mapping[str, Any], key: str, dimension: Dimension, where: str) -> float:
    entry, place = _entry(table, key, where), f"{where}, {key}"
    if not isinstance(entry, dict):
        raise InputFault(
            "a number without unit and source", where=place, wanted="value, unit, source", got=repr(entry)
        )
    _entry(entry, "source", place)
    return _value(entry, _entry(entry, "value", place), dimension, place)


def _numbers(table: Mapping[str, Any], key: str, dimension: Dimension, where: str) -> tuple[float, ...]:
    entry, place = _entry(table, key, where), f"{where}, {key}"
    return tuple(_value(entry, value, dimension, place) for value in _entry(entry, "values", place))


def _condition(table: Mapping[str, Any], where: str, allowed: frozenset[Signal]) -> Condition:
    name = _entry(table, "signal", where)
    if name not in allowed:
        raise InputFault("unknown signal", where=where, wanted=", ".join(sorted(allowed)), got=repr(name))
    sides = [side for side in ("above", "below") if side in table]
    if len(sides) != 1:
        raise InputFault("a condition has one side", where=where, wanted="above or below", got=str(sides))
    signal = Signal(name)
    return Condition(signal, sides[0] == "above", _value(table, table[sides[0]], _SIGNALS[signal], where))


def _conditions(table: Mapping[str, Any], where: str, allowed: frozenset[Signal]) -> tuple[Condition, ...]:
    return tuple(_condition(entry, where, allowed) for entry in _entry(table, "when", where))


def _controller(name: str, table: Mapping[str, Any], where: str) -> Controller:
    before_loop = frozenset(Signal) - LOOP_SIGNALS
    open_loop = tuple(
        OpenLoopRule(
            str(_entry(rule, "name", where)),
            _conditions(rule, where, before_loop),
            _number(rule, "duty", _D.FRACTION, where),
        )
        for rule in table.get("open_loop", ())
    )
    lamp = tuple(
        LampRule(
            str(_entry(rule, "name", where)),
            _conditions(rule, where, frozenset(Signal)),
            _number(rule, "hold", _D.TIME, where),
        )
        for rule in table.get("lamp", ())
    )
    values: dict[str, Any] = {
        key: _number(table, key, dimension, where) for key, dimension in _NUMBERS.items()
    }
    values |= {key: _numbers(table, key, dimension, where) for key, dimension in _TABLES.items()}
    values["energized_is_lean"] = bool(_entry(table, "energized_is_lean", where))
    try:
        return Controller(
            name=name, title=str(table.get("title", name)), open_loop=open_loop, lamp=lamp, **values
        )
    except ValueError as fault:
        raise InputFault(str(fault), where=where) from fault


def read_controllers(path: Path) -> dict[str, Controller]:
    """Controllers of a TOML file, by name.

    Raises:
        InputFault: not TOML, a field missing, without unit or source, of the wrong dimension's unit, or out of range.
    """
    return _parsed(path.read_text(encoding="utf-8"), path.name)


def _parsed(text: str, name: str) -> dict[str, Controller]:
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise InputFault("not a TOML file", where=name, got=str(fault)) from fault
    return {key: _controller(key, table, f"{name}, {key}") for key, table in tables.items()}


@cache
def catalogue_controllers() -> Mapping[str, Controller]:
    """The controllers shipped with the tool, all invented, by name.

    >>> sorted(catalogue_controllers())
    ['generic-pulsed', 'inverted-valve', 'slow-integral']
    """
    text = files("dwellwright.catalogue").joinpath("data/controllers.toml").read_text(encoding="utf-8")
    return _parsed(text, "controllers.toml")
