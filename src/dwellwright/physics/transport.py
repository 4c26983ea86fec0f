"""Time from the carburetor to the sensor: manifold filling, engine cycle, exhaust pipe."""

from __future__ import annotations

from math import inf

EXHAUST_GAS_CONSTANT = 287.0
"""Of burned gas near lambda 1; equals that of air within 1 % (molar mass 28.9 g/mol). [J/(kg K)]"""
CYCLE_REVOLUTIONS = 1.5
"""Revolutions from mid-intake to mid-exhaust of a four-stroke engine: three strokes. [-]"""


def passage_delay(
    volume: float,
    mass_flow: float,
    absolute_pressure: float,
    temperature: float,
    gas_constant: float = EXHAUST_GAS_CONSTANT,
) -> float:
    """Time for gas to pass a volume as a plug; infinite without flow. [s]

    Args:
        volume: of the manifold or pipe. [m³]
        mass_flow: through it. [kg/s]
        absolute_pressure: in it. [Pa]
        temperature: in it. [K]
        gas_constant: specific. [J/(kg K)]
    """
    if mass_flow <= 0.0:
        return inf
    return volume * absolute_pressure / (gas_constant * temperature * mass_flow)


def cycle_delay(engine_speed: float, revolutions: float = CYCLE_REVOLUTIONS) -> float:
    """Time the charge stays in the cylinder; infinite at rest. [s]

    Args:
        engine_speed: revolutions per second. [1/s]
        revolutions: from intake to exhaust. [-]
    """
    if engine_speed <= 0.0:
        return inf
    return revolutions / engine_speed


def transport_delay(
    engine_speed: float,
    mass_flow: float,
    manifold_volume: float,
    manifold_pressure: float,
    manifold_temperature: float,
    exhaust_volume: float,
    exhaust_pressure: float,
    exhaust_temperature: float,
) -> float:
    """Time from a change at the carburetor to its arrival at the sensor; infinite at rest. [s]

    Plug flow in the manifold and pipe. Mixing in them, which turns part of the delay into lag, is left to the
    time constants of film and sensor.

    Args:
        engine_speed: revolutions per second. [1/s]
        mass_flow: of exhaust past the sensor, and of intake. [kg/s]
        manifold_volume: carburetor to intake valve. [m³]
        manifold_pressure: absolute. [Pa]
        manifold_temperature: [K]
        exhaust_volume: exhaust valve to sensor. [m³]
        exhaust_pressure: absolute. [Pa]
        exhaust_temperature: [K]
    """
    if engine_speed <= 0.0 or mass_flow <= 0.0:
        return inf
    manifold = manifold_volume * manifold_pressure / manifold_temperature
    pipe = exhaust_volume * exhaust_pressure / exhaust_temperature
    return 1.5 / engine_speed + (manifold + pipe) / (287.0 * mass_flow)
