"""Controllers as data: what a feedback-carburetor controller does, in numbers with their source.

Duty here is the energized share, as the unit's driver sees it. `loop.controller` runs these records.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from math import isfinite
from pathlib import Path
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.units import known_unit, to_si


class Signal(StrEnum):
    """What a condition may look at."""

    TIME = "time"
    ENGINE_SPEED = "engine_speed"
    AIR_FLOW = "air_flow"
    COOLANT_TEMPERATURE = "coolant_temperature"
    SENSOR_TEMPERATURE = "sensor_temperature"
    THROTTLE_VOLTAGE = "throttle_voltage"
    BATTERY_VOLTAGE = "battery_voltage"
    DUTY = "duty"
    SENSOR_VOLTAGE = "sensor_voltage"
    CLOSED = "closed"


LOOP_SIGNALS = frozenset({Signal.DUTY, Signal.SENSOR_VOLTAGE, Signal.CLOSED})
"""Signals that exist only once the loop has run: a lamp may look at them, an open-loop rule may not."""


@dataclass(frozen=True)
class Condition:
    """A signal above or below a level.

    Args:
        signal: what is looked at.
        above: True: holds while the signal is above the level; False: while below.
        level: in SI.
    """

    signal: Signal
    above: bool
    level: float


@dataclass(frozen=True)
class OpenLoopRule:
    """A fixed duty while all conditions hold.

    Args:
        name: of the mode, in plain words.
        when: the conditions.
        duty: energized share commanded meanwhile. [-]
    """

    name: str
    when: tuple[Condition, ...]
    duty: float


@dataclass(frozen=True)
class LampRule:
    """The warning lamp lights once all conditions have held without a break for a time.

    Args:
        name: of the finding, in plain words; codes are left to whoever owns the manual.
        when: the conditions.
        hold: how long they must hold. [s]
    """

    name: str
    when: tuple[Condition, ...]
    hold: float


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
        rates = (self.idle_lean_ramp, self.idle_rich_ramp, *self.lean_ramp, *self.rich_ramp, self.jump, self.idle_jump)
        if min(rates) < 0:
            raise ValueError(f"ramps and jumps must not be negative, got {min(rates)}")


def _check_table(axis: Sequence[float], *columns: Sequence[float]) -> None:
    if not axis or any(len(column) != len(axis) for column in columns):
        raise ValueError(f"table columns must be as long as their axis, got {len(axis)} and {[*map(len, columns)]}")
    if any(b <= a for a, b in zip(axis, axis[1:], strict=False)):
        raise ValueError(f"table axis must rise, got {tuple(axis)}")


_NUMBERS = (
    "pulse_rate", "threshold_voltage", "input_bias_voltage", "input_resistance", "silent_low", "silent_high",
    "silent_time", "low_limit", "high_limit", "start_duty", "jump", "idle_jump", "idle_throttle_voltage",
    "idle_lean_ramp", "idle_rich_ramp",
)  # fmt: skip
_TABLES = ("ramp_speed", "lean_ramp", "rich_ramp", "waiting_coolant", "waiting_duty")


def _entry(table: Mapping[str, Any], key: str, where: str) -> Any:
    if key not in table:
        raise InputFault("a field is missing", where=where, wanted=key, remedy=f"add {key}")
    return table[key]


def _value(entry: Mapping[str, Any], value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise InputFault("not a number", where=where, wanted="a finite number", got=repr(value))
    return to_si(float(value), str(_entry(entry, "unit", where)), where=where)


def _number(table: Mapping[str, Any], key: str, where: str) -> float:
    entry, place = _entry(table, key, where), f"{where}, {key}"
    if not isinstance(entry, dict):
        raise InputFault("a number without unit and source", where=place, wanted="value, unit, source", got=repr(entry))
    _entry(entry, "source", place)
    return _value(entry, _entry(entry, "value", place), place)


def _numbers(table: Mapping[str, Any], key: str, where: str) -> tuple[float, ...]:
    entry, place = _entry(table, key, where), f"{where}, {key}"
    return tuple(_value(entry, value, place) for value in _entry(entry, "values", place))


def _condition(table: Mapping[str, Any], where: str, allowed: frozenset[Signal]) -> Condition:
    name = _entry(table, "signal", where)
    if name not in allowed:
        raise InputFault("unknown signal", where=where, wanted=", ".join(sorted(allowed)), got=repr(name))
    sides = [side for side in ("above", "below") if side in table]
    if len(sides) != 1:
        raise InputFault("a condition has one side", where=where, wanted="above or below", got=str(sides))
    known_unit(str(_entry(table, "unit", where)), where=where)
    return Condition(Signal(name), sides[0] == "above", _value(table, table[sides[0]], where))


def _conditions(table: Mapping[str, Any], where: str, allowed: frozenset[Signal]) -> tuple[Condition, ...]:
    return tuple(_condition(entry, where, allowed) for entry in _entry(table, "when", where))


def _controller(name: str, table: Mapping[str, Any], where: str) -> Controller:
    before_loop = frozenset(Signal) - LOOP_SIGNALS
    open_loop = tuple(
        OpenLoopRule(rule["name"], _conditions(rule, where, before_loop), _number(rule, "duty", where))
        for rule in table.get("open_loop", ())
    )
    lamp = tuple(
        LampRule(rule["name"], _conditions(rule, where, frozenset(Signal)), _number(rule, "hold", where))
        for rule in table.get("lamp", ())
    )
    numbers = {key: _number(table, key, where) for key in _NUMBERS}
    tables = {key: _numbers(table, key, where) for key in _TABLES}
    lean = bool(_entry(table, "energized_is_lean", where))
    try:
        return Controller(
            name, str(table.get("title", name)), lean, **numbers, **tables, open_loop=open_loop, lamp=lamp
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
