"""Water in the intake air: how much, what it does to density and to the oxygen an engine gets."""

from __future__ import annotations

from math import exp

from dwellwright.physics.atmosphere import DRY_AIR_GAS_CONSTANT

WATER_TO_AIR_MASS = 18.015268 / 28.9644
"""Molar mass of water (IAPWS R6) over that of dry air (US Standard Atmosphere 1976). [-]"""
TEMPERATURE_RANGE = (233.15, 373.15)
"""Where the two saturation laws are used. [K]"""
TRIPLE_TEMPERATURE = 273.16
"""[K]"""


def saturation_pressure(temperature: float) -> float:
    """Pressure of saturated water vapor, over ice below the triple point. [Pa]

    Args:
        temperature: 233 to 373 K. [K]

    References:
        [1] W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 22(3), 1993, equation 1 (liquid; IAPWS SR1-86).
        [2] IAPWS R14-08(2011), equation 6 (ice).

    >>> round(saturation_pressure(298.15))
    3170
    """
    if temperature < TRIPLE_TEMPERATURE:
        theta = temperature / TRIPLE_TEMPERATURE
        power = -21.2144006 * theta**0.00333333333 + 27.3203819 * theta**1.20666667
        power -= 6.10598130 * theta**1.70333333
        return 611.657 * exp(power / theta)
    tau = 1.0 - temperature / 647.096
    power = -7.85951783 * tau + 1.84408259 * tau**1.5 - 11.7866497 * tau**3
    power += 22.6807411 * tau**3.5 - 15.9618719 * tau**4 + 1.80122502 * tau**7.5
    return 22.064e6 * exp(647.096 / temperature * power)


def vapor_pressure(relative_humidity: float, temperature: float, absolute_pressure: float) -> float:
    """Partial pressure of water in moist air, with the enhancement by the air. [Pa]

    Args:
        relative_humidity: 0 to 1. [-]
        temperature: [K]
        absolute_pressure: [Pa]

    Raises:
        ValueError: humidity outside 0 to 1, or more vapor than pressure.

    References:
        [1] A. L. Buck, J. Appl. Meteor. 20, 1981, 1527-1532, enhancement factor fw5 (from memory).
    """
    if not 0.0 <= relative_humidity <= 1.0:
        raise ValueError(f"relative humidity must lie from 0 to 1, got {relative_humidity}")
    enhancement = 1.0007 + 3.46e-8 * absolute_pressure
    vapor = relative_humidity * enhancement * saturation_pressure(temperature)
    if not vapor < absolute_pressure:
        raise ValueError(f"water vapor of {vapor:.0f} Pa does not fit in {absolute_pressure} Pa of moist air")
    return vapor


def humidity_ratio(relative_humidity: float, temperature: float, absolute_pressure: float) -> float:
    """Mass of water per mass of dry air. [-]

    Args:
        relative_humidity: 0 to 1. [-]
        temperature: [K]
        absolute_pressure: [Pa]

    Raises:
        ValueError: humidity outside 0 to 1, or more vapor than pressure.

    >>> round(humidity_ratio(0.5, 298.15, 101325.0), 5)
    0.00993
    """
    vapor = vapor_pressure(relative_humidity, temperature, absolute_pressure)
    return WATER_TO_AIR_MASS * vapor / (absolute_pressure - vapor)


def water_mole_ratio(humidity_ratio: float) -> float:
    """Moles of water per mole of dry air. [-]"""
    return humidity_ratio / WATER_TO_AIR_MASS


def moist_density(absolute_pressure: float, temperature: float, humidity_ratio: float) -> float:
    """Density of moist air, water included, as a mixture of perfect gases. [kg/m³]

    Args:
        absolute_pressure: [Pa]
        temperature: [K]
        humidity_ratio: mass of water per mass of dry air. [-]
    """
    moles = 1.0 + humidity_ratio / WATER_TO_AIR_MASS
    return absolute_pressure * (1.0 + humidity_ratio) / (DRY_AIR_GAS_CONSTANT * temperature * moles)


def dry_air_share(humidity_ratio: float) -> float:
    """Dry air over moist air by mass: what is left of the oxygen at a given air flow. [-]"""
    return 1.0 / (1.0 + humidity_ratio)


def oxygen_fraction(humidity_ratio: float, dry_fraction: float = 0.209476) -> float:
    """Mole fraction of oxygen in moist air. [-]

    Args:
        humidity_ratio: mass of water per mass of dry air. [-]
        dry_fraction: of dry air; US Standard Atmosphere 1976, table 3. [-]
    """
    return dry_fraction / (1.0 + humidity_ratio / WATER_TO_AIR_MASS)
