"""US Standard Atmosphere 1976, troposphere only (to 11 km)."""

from __future__ import annotations

SEA_LEVEL_PRESSURE = 101325.0
"""[Pa]"""
SEA_LEVEL_TEMPERATURE = 288.15
"""[K]"""
LAPSE_RATE = 0.0065
"""Temperature lost per geopotential metre. [K/m]"""
GRAVITY = 9.80665
"""Standard gravity. [m/s²]"""
EARTH_RADIUS = 6356766.0
"""Effective radius at 45 deg latitude. [m]"""
DRY_AIR_GAS_CONSTANT = 8314.32 / 28.9644
"""[J/(kg K)]"""
PRESSURE_EXPONENT = GRAVITY / (DRY_AIR_GAS_CONSTANT * LAPSE_RATE)
"""5.2559. [-]"""
HEIGHT_RANGE = (-500.0, 11000.0)
"""Geopotential heights covered: the troposphere, and the lowest roads on land. [m]"""

# All constants above: U.S. Standard Atmosphere 1976, NOAA-S/T 76-1562, tables 2 and 4.


def geopotential_height(geometric_height: float) -> float:
    """Geopotential height of a geometric one. [m]

    References:
        [1] U.S. Standard Atmosphere 1976, equation 18.
    """
    return EARTH_RADIUS * geometric_height / (EARTH_RADIUS + geometric_height)


def geometric_height(geopotential_height: float) -> float:
    """Geometric height of a geopotential one. [m]

    References:
        [1] U.S. Standard Atmosphere 1976, equation 19.
    """
    return EARTH_RADIUS * geopotential_height / (EARTH_RADIUS - geopotential_height)


def standard_temperature(height: float) -> float:
    """Temperature at a geopotential height. [K]"""
    return SEA_LEVEL_TEMPERATURE - LAPSE_RATE * height


def standard_pressure(height: float) -> float:
    """Absolute pressure at a geopotential height. [Pa]

    References:
        [1] U.S. Standard Atmosphere 1976, equation 33a.

    >>> round(standard_pressure(1000.0), 2)
    89874.57
    """
    return float(
        SEA_LEVEL_PRESSURE * (1.0 - LAPSE_RATE * height / SEA_LEVEL_TEMPERATURE) ** PRESSURE_EXPONENT
    )


def standard_density(height: float) -> float:
    """Density of dry air at a geopotential height. [kg/m³]"""
    return standard_pressure(height) / (DRY_AIR_GAS_CONSTANT * standard_temperature(height))


def pressure_height(absolute_pressure: float) -> float:
    """Geopotential height at which the standard atmosphere has that pressure. [m]

    Raises:
        ValueError: pressure not positive.
    """
    if not absolute_pressure > 0.0:
        raise ValueError(f"absolute pressure must be positive, got {absolute_pressure} Pa")
    share = float((absolute_pressure / SEA_LEVEL_PRESSURE) ** (1.0 / PRESSURE_EXPONENT))
    return SEA_LEVEL_TEMPERATURE / LAPSE_RATE * (1.0 - share)


def air_density(absolute_pressure: float, temperature: float) -> float:
    """Density of dry air as a perfect gas; the error against real air is below 0.1 % in a carburetor. [kg/m³]

    Args:
        absolute_pressure: [Pa]
        temperature: [K]
    """
    return absolute_pressure / (DRY_AIR_GAS_CONSTANT * temperature)
