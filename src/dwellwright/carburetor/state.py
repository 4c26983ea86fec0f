"""The state of one car: how far every adjustable point is off its sheet, every fault, and the day's conditions."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from dwellwright.catalogue.fuels import ethanol_blend
from dwellwright.physics.atmosphere import SEA_LEVEL_PRESSURE

WARM_FUEL = 313.15
"""Fuel in the bowl of a warm engine, assumed. [K]"""
WARM_AIR = 303.15
"""Air at the air horn of a warm engine, assumed. [K]"""


@dataclass(frozen=True)
class CarState:
    """Deviations from the sheet; all zero is the sheet's own car on a standard day with gasoline.

    Args:
        lean_stop: height error of the lean stop, + = high = rich. [m]
        rich_stop: height error of the rich stop, + = high = rich. [m]
        rod_travel_lost: rod movement lost between the stops, half at each end. [m]
        needle_left: idle mixture needle of the first barrel, + = out = rich. [turns]
        needle_right: idle mixture needle of the second barrel, + = out = rich. [turns]
        idle_bleed: idle air bleed screw, + = out = more air = lean. [turns]
        fuel_level: level error in the bowl, + = high = rich. [m]
        seat_leak: fuel past the float needle over the hot idle fuel flow. [-]
        rods_stuck: 1 = all rods at the rich stop, -1 = at the lean stop, 0 = free. [-]
        power_vacuum: error of the vacuum at which the power piston acts, + = acts earlier = rich. [Pa]
        main_bleed_blocked: share of the main air bleed closed. [-]
        idle_bleed_blocked: share of the fixed idle bleed closed. [-]
        idle_channel_blocked: share of the idle channel closed. [-]
        main_jet_error: relative error of the jet's area, + = large = rich (wrong part fitted). [-]
        vacuum_leak: hole below the throttle. [m²]
        exhaust_leak: air drawn in before the sensor over the exhaust flow at idle. [-]
        injected_air: injected air not diverted over the exhaust flow. [-]
        misfire: share of cycles that do not burn. [-]
        sensor_bias: error of the sensor's voltage, + = reads rich. [V]
        purge: hole through which canister vapor enters below the throttle. [m²]
        ventilation: error of the crankcase ventilation's opening, + = large. [m²]
        ethanol: volume share of ethanol in the fuel. [-]
        ambient_pressure: [Pa]
        air_temperature: at the air horn. [K]
        fuel_temperature: in the bowl. [K]
        main_scale: build scatter of the main circuit's fuel. [-]
        idle_scale: build scatter of the idle circuit's discharge. [-]
        fuel_pressure: error of the pressure at the float needle; lifts the level a little. [Pa]
        solenoid_dead: 1 = the solenoid never moves from the released end. [-]
        sensor_lag: how much slower the sensor is than a new one, in multiples of its own lag. [-]
        sensor_cold: how much colder than usual the sensor runs. [K]
        coolant_sensor: error of the coolant sensor, + = reads hot. [K]
        throttle_sensor: error of the throttle sensor, + = reads open. [V]
        actuator_offset: lost steps or a bent link, as a share of the travel, + = stands leaner than commanded. [-]
        egr: exhaust recirculated where none or less is meant, as a share of the charge. [-]
    """

    lean_stop: float = 0.0
    rich_stop: float = 0.0
    rod_travel_lost: float = 0.0
    needle_left: float = 0.0
    needle_right: float = 0.0
    idle_bleed: float = 0.0
    fuel_level: float = 0.0
    seat_leak: float = 0.0
    rods_stuck: float = 0.0
    power_vacuum: float = 0.0
    main_bleed_blocked: float = 0.0
    idle_bleed_blocked: float = 0.0
    idle_channel_blocked: float = 0.0
    main_jet_error: float = 0.0
    vacuum_leak: float = 0.0
    exhaust_leak: float = 0.0
    injected_air: float = 0.0
    misfire: float = 0.0
    sensor_bias: float = 0.0
    purge: float = 0.0
    ventilation: float = 0.0
    ethanol: float = 0.0
    ambient_pressure: float = SEA_LEVEL_PRESSURE
    air_temperature: float = WARM_AIR
    fuel_temperature: float = WARM_FUEL
    main_scale: float = 1.0
    idle_scale: float = 1.0
    fuel_pressure: float = 0.0
    solenoid_dead: float = 0.0
    sensor_lag: float = 0.0
    sensor_cold: float = 0.0
    coolant_sensor: float = 0.0
    throttle_sensor: float = 0.0
    actuator_offset: float = 0.0
    egr: float = 0.0


class Field(IntEnum):
    """Column of each field in a packed array of states; a test holds it against `CarState`."""

    LEAN_STOP = 0
    RICH_STOP = 1
    ROD_TRAVEL_LOST = 2
    NEEDLE_LEFT = 3
    NEEDLE_RIGHT = 4
    IDLE_BLEED = 5
    FUEL_LEVEL = 6
    SEAT_LEAK = 7
    RODS_STUCK = 8
    POWER_VACUUM = 9
    MAIN_BLEED_BLOCKED = 10
    IDLE_BLEED_BLOCKED = 11
    IDLE_CHANNEL_BLOCKED = 12
    MAIN_JET_ERROR = 13
    VACUUM_LEAK = 14
    EXHAUST_LEAK = 15
    INJECTED_AIR = 16
    MISFIRE = 17
    SENSOR_BIAS = 18
    PURGE = 19
    VENTILATION = 20
    ETHANOL = 21
    AMBIENT_PRESSURE = 22
    AIR_TEMPERATURE = 23
    FUEL_TEMPERATURE = 24
    MAIN_SCALE = 25
    IDLE_SCALE = 26
    FUEL_PRESSURE = 27
    SOLENOID_DEAD = 28
    SENSOR_LAG = 29
    SENSOR_COLD = 30
    COOLANT_SENSOR = 31
    THROTTLE_SENSOR = 32
    ACTUATOR_OFFSET = 33
    EGR = 34


FIELD_COUNT = len(Field)

Float1 = NDArray[np.float64]
Float2 = NDArray[np.float64]


def packed(states: CarState | list[CarState]) -> Float2:
    """States as rows. [array of shape (cars, FIELD_COUNT)]"""
    listed = [states] if isinstance(states, CarState) else states
    return np.array(
        [[getattr(state, field.name) for field in fields(state)] for state in listed], dtype=np.float64
    )


_SHEETS_OWN = packed(CarState())[0]


def healthy(count: int) -> Float2:
    """So many cars exactly on their sheet. [array of shape (count, FIELD_COUNT)]"""
    return np.tile(_SHEETS_OWN, (count, 1))


ETHANOL_KNOTS = np.linspace(0.0, 1.0, 101)
"""Blends at which fuel properties are tabulated for batches; between them the error is below 1e-4. [-]"""


def fuel_columns(ethanol: Float1, temperature: Float1) -> tuple[Float1, Float1, Float1]:
    """Density [kg/m³], viscosity [Pa s] and stoichiometric air per fuel [-] of blends, each of the input's shape.

    Args:
        ethanol: volume share, shape (cars,). [-]
        temperature: of the fuel, shape (cars,). [K]
    """
    fuels = [ethanol_blend(float(share)) for share in ETHANOL_KNOTS]
    at = np.clip(ethanol, 0.0, 1.0)
    reference, expansion, viscosity, activation, ratio = (
        np.interp(at, ETHANOL_KNOTS, values)
        for values in zip(
            *((f.reference_density, f.expansion, f.reference_viscosity, f.viscosity_activation, f.stoichiometric_ratio)
              for f in fuels), strict=True)
    )  # fmt: skip
    step = expansion * (temperature - 288.15)
    density = reference * np.exp(-step * (1.0 + 0.8 * step))
    return density, viscosity * np.exp(activation * (1.0 / temperature - 1.0 / 293.15)), ratio


def described(state: Float1) -> str:
    """What is off on a packed state, by field, in SI; for messages."""
    sheet = packed(CarState())[0]
    off = [f"{field.name.lower()} = {state[field]:.6g}" for field in Field if state[field] != sheet[field]]
    return ", ".join(off) or "nothing off"
