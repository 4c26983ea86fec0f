"""Conditions on signals, and what follows from them: a fixed duty, or the warning lamp."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


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
