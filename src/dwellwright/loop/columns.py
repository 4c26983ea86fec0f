"""What the kernel is given and what it gives back: one column each, in SI, named once."""

from __future__ import annotations

from enum import IntEnum


class Parameter(IntEnum):
    """Columns of a car at one operating point. "Excess" is excess fuel, 1/lambda: it is linear in the duty."""

    EXCESS_RICH = 0
    """Excess fuel with the solenoid never energized. [-]"""
    EXCESS_LEAN = 1
    """Excess fuel with the solenoid always energized. [-]"""
    AIR_FLOW = 2
    """Air through the engine. [kg/s]"""
    DELAY = 3
    """From the fuel leaving the carburetor to the gas reaching the sensor. [s]"""
    FILM_SHARE = 4
    """Share of the fuel that lands on the manifold wall. [-]"""
    FILM_TIME = 5
    """Time constant of the film's evaporation. [s]"""
    MIXING_TIME = 6
    """Time constant of the mixing in manifold and exhaust. [s]"""
    FALSE_AIR = 7
    """Air drawn in before the sensor, over the air through the engine. [-]"""
    SENSOR_SHIFT = 8
    """Excess fuel that the sensor sees beyond what is there; positive drives the loop lean. [-]"""
    LEAN_TO_RICH_TIME = 9
    """Time constant of the sensor's rise. [s]"""
    RICH_TO_LEAN_TIME = 10
    """Time constant of the sensor's fall. [s]"""
    SENSOR_WEIGHT = 11
    """Share of the sensor's own voltage at the controller's input; 0 when stone cold. [-]"""
    RICH_LEVEL = 12
    """Sensor voltage far on the rich side; this and the next six are those of `physics.switching`. [V]"""
    RICH_RISE = 13
    """Voltage times distance on the rich side. [V]"""
    RICH_OFFSET = 14
    """Distance at which it has fallen to half. [-]"""
    LEAN_LEVEL = 15
    """Sensor voltage far on the lean side. [V]"""
    LEAN_RISE = 16
    """Voltage times distance on the lean side. [V]"""
    LEAN_OFFSET = 17
    """Distance at which it has fallen to half. [-]"""
    SWITCH_WIDTH = 18
    """Half width of the switch. [-]"""
    PULL_IN = 19
    """Pull-in time of the solenoid over the pulse period. [-]"""
    DROP_OUT = 20
    """Drop-out time of the solenoid over the pulse period. [-]"""
    LEAN_RAMP = 21
    """Rate of the duty while the sensor shows rich. [1/s]"""
    RICH_RAMP = 22
    """Rate at which the duty falls while the sensor shows lean. [1/s]"""
    JUMP = 23
    """Half the proportional step of the duty at a switch. [-]"""
    LOW_LIMIT = 24
    """Least duty in closed loop. [-]"""
    HIGH_LIMIT = 25
    """Greatest duty in closed loop. [-]"""
    START_DUTY = 26
    """Duty at time zero and long before it. [-]"""
    WELL_TIME = 27
    """Time constant of the fuel between valve and nozzle: wells and channels. [s]"""


class Setting(IntEnum):
    """Numbers that all cars of one call share."""

    STEP = 0
    """Time step. [s]"""
    THRESHOLD = 1
    """Sensor voltage that divides rich from lean. [V]"""
    INPUT_BIAS = 2
    """What the controller's input reads with nothing connected. [V]"""
    WINDOW_LOW = 3
    """A sensor between the window's ends counts as silent. [V]"""
    WINDOW_HIGH = 4
    """Upper end of the window. [V]"""
    SILENT_TIME = 5
    """A sensor silent for this long is not ready. [s]"""
    SILENT_AT_START = 6
    """How long the sensor had been silent before time zero. [s]"""
    AVERAGED = 7
    """1: the solenoid's pulses are replaced by their mean, and the duty acts at once; 0: real pulses."""


class Statistic(IntEnum):
    """Columns of the streaming statistics of one segment."""

    DUTY_MEAN = 0
    DUTY_LEAST = 1
    DUTY_GREATEST = 2
    DUTY_AMPLITUDE = 3
    """Half of the mean swing between the switches. [-]"""
    PERIOD = 4
    """Mean time between lean-to-rich switches; 0 with fewer than two of them. [s]"""
    SWITCHES = 5
    """Number of lean-to-rich switches. [-]"""
    RICH_SHARE = 6
    """Share of the time with the sensor above the threshold. [-]"""
    VOLTAGE_MEAN = 7
    VOLTAGE_LEAST = 8
    VOLTAGE_GREATEST = 9
    LAMBDA_MEAN = 10
    """Air over stoichiometric need of the fuel burnt, both summed over the segment: before any false air. [-]"""
    SENSOR_LAMBDA_LEAST = 11
    SENSOR_LAMBDA_GREATEST = 12
    SHARE_AT_RICH_LIMIT = 13
    SHARE_AT_LEAN_LIMIT = 14
    CLOSED_SHARE = 15
    """Share of the time in closed loop. [-]"""
    HELD_GAIN = 16
    """Growth of the fuel held in the wells and on the wall, times the stoichiometric ratio. [kg]"""
    FUEL_METERED = 17
    """Fuel that left the carburetor, times the stoichiometric ratio. [kg]"""
    FUEL_BURNT = 18
    """Fuel that left the manifold for the cylinders, times the stoichiometric ratio. [kg]"""
    DURATION = 19
    """Length of the segment. [s]"""


class Trace(IntEnum):
    """Columns of a logged row."""

    TIME = 0
    DUTY = 1
    POSITION = 2
    """Share of the time since the row before that the solenoid spent at its lean stop. [-]"""
    SENSOR_VOLTAGE = 3
    EXCESS = 4
    """Excess fuel burnt, mean since the row before. [-]"""
    SENSOR_EXCESS = 5
    """Excess fuel in the gas round the sensor, false air included. [-]"""
    CLOSED = 6
    FILM = 7
    """Wall film, as fuel times the stoichiometric ratio. [kg]"""
