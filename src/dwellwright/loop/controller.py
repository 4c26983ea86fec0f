"""The controller's open-loop half and its lamp: modes, ramps and lamp conditions along a drive.

The closed-loop half is in the kernel. Numbers come from `catalogue.controllers`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dwellwright.catalogue.controller_rules import Condition, LampRule, Signal
from dwellwright.catalogue.controllers import Controller
from dwellwright.loop.drive import Drive
from dwellwright.loop.stages import Floats

Signals = Mapping[Signal, Floats]
CLOSED = -1.0
"""Stands for "no open-loop duty: the loop may close"."""


def drive_signals(drive: Drive, time: Floats) -> dict[Signal, Floats]:
    """What the controller measures at the given times of a drive."""
    columns = {
        Signal.ENGINE_SPEED: drive.engine_speed,
        Signal.AIR_FLOW: drive.air_flow,
        Signal.COOLANT_TEMPERATURE: drive.coolant_temperature,
        Signal.SENSOR_TEMPERATURE: drive.sensor_temperature,
        Signal.THROTTLE_VOLTAGE: drive.throttle_voltage,
        Signal.BATTERY_VOLTAGE: drive.battery_voltage,
    }
    signals = {signal: np.interp(time, drive.time, values) for signal, values in columns.items()}
    return {Signal.TIME: time - drive.time[0], **signals}


def holds(conditions: tuple[Condition, ...], signals: Signals) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Where all the conditions hold."""
    size = next(iter(signals.values())).shape
    result = np.ones(size, dtype=np.bool_)
    for condition in conditions:
        values = signals[condition.signal]
        result &= values > condition.level if condition.above else values < condition.level
    return result


def forced_duty(controller: Controller, signals: Signals) -> Floats:
    """Energized share that the open-loop rules command, `CLOSED` where none holds; the first rule wins. [-]"""
    result = np.full(next(iter(signals.values())).shape, CLOSED)
    for rule in reversed(controller.open_loop):
        result[holds(rule.when, signals)] = rule.duty
    return result


def waiting_duty(controller: Controller, signals: Signals) -> Floats:
    """Energized share while the sensor is not ready. [-]"""
    return np.interp(signals[Signal.COOLANT_TEMPERATURE], controller.waiting_coolant, controller.waiting_duty)


def ramps(controller: Controller, signals: Signals) -> tuple[Floats, Floats, Floats]:
    """Lean-going rate, rich-going rate and half jump: idle's below the idle throttle voltage, else by speed."""
    idle = signals[Signal.THROTTLE_VOLTAGE] < controller.idle_throttle_voltage
    speed = signals[Signal.ENGINE_SPEED]
    lean = np.interp(speed, controller.ramp_speed, controller.lean_ramp)
    rich = np.interp(speed, controller.ramp_speed, controller.rich_ramp)
    return (
        np.where(idle, controller.idle_lean_ramp, lean),
        np.where(idle, controller.idle_rich_ramp, rich),
        np.where(idle, controller.idle_jump, controller.jump),
    )


@dataclass(frozen=True)
class LampEvent:
    """A lamp rule that was met.

    Args:
        rule: which.
        time: at which the lamp lit. [s]
        ended: at which the conditions ceased to hold, or the log ended. [s]
    """

    rule: LampRule
    time: float
    ended: float


def lamp_events(controller: Controller, time: Floats, signals: Signals) -> tuple[LampEvent, ...]:
    """Every time the lamp would have lit along a log, in order of time.

    Args:
        controller: whose rules to apply.
        time: of the rows of the log, rising. [s]
        signals: logged values, one per row; a rule that needs a signal not logged is a fault.

    Raises:
        ValueError: a rule looks at a signal that was not logged.
    """
    events = []
    for rule in controller.lamp:
        missing = {c.signal for c in rule.when} - signals.keys()
        if missing:
            raise ValueError(
                f"lamp rule {rule.name!r} needs {', '.join(sorted(missing))}, which were not logged"
            )
        edges = np.flatnonzero(
            np.diff(np.concatenate(([False], holds(rule.when, signals), [False])).astype(np.int8))
        )
        for begin, end in zip(edges[::2], edges[1::2], strict=True):
            last = time[min(end, time.size - 1)]
            if last - time[begin] >= rule.hold:
                events.append(LampEvent(rule, float(time[begin] + rule.hold), float(last)))
    return tuple(sorted(events, key=lambda event: event.time))
