"""Isentropic flow of a perfect gas through an orifice, throttle, bleed or venturi.

Every law here is a plain scalar function without calls to other laws, so that it compiles as it stands.
"""

from __future__ import annotations

from math import inf, sqrt

from dwellwright.physics.checks import require_fraction, require_not_negative, require_positive

AIR_HEAT_RATIO = 1.4
"""Ratio of specific heats of dry air, US Standard Atmosphere 1976, table 2. [-]"""
AIR_GAS_CONSTANT = 287.05287
"""8314.32 / 28.9644, US Standard Atmosphere 1976, table 2. [J/(kg K)]"""


def critical_pressure_ratio(heat_ratio: float = AIR_HEAT_RATIO) -> float:
    """Throat over upstream total pressure at which the flow becomes sonic. [-]

    Args:
        heat_ratio: cp/cv of the gas. [-]

    References:
        [1] ISO 9300:2005, critical flow Venturi nozzles, perfect-gas limit.

    >>> round(critical_pressure_ratio(1.4), 6)
    0.528282
    """
    return float((2.0 / (heat_ratio + 1.0)) ** (heat_ratio / (heat_ratio - 1.0)))


def choked_mass_flux(
    upstream_pressure: float,
    upstream_temperature: float,
    heat_ratio: float = AIR_HEAT_RATIO,
    gas_constant: float = AIR_GAS_CONSTANT,
) -> float:
    """Largest mass flow per area that the upstream state can drive. [kg/(s m²)]

    Args:
        upstream_pressure: total absolute pressure. [Pa]
        upstream_temperature: total temperature. [K]
        heat_ratio: cp/cv. [-]
        gas_constant: specific. [J/(kg K)]

    >>> round(choked_mass_flux(101325.0, 288.15, 1.4, 287.05), 4)
    241.2397
    """
    power = (heat_ratio + 1.0) / (2.0 * (heat_ratio - 1.0))
    loss = (2.0 / (heat_ratio + 1.0)) ** power
    return float(upstream_pressure * sqrt(heat_ratio / (gas_constant * upstream_temperature)) * loss)


def compressible_flow(
    area: float,
    discharge: float,
    upstream_pressure: float,
    upstream_temperature: float,
    downstream_pressure: float,
    heat_ratio: float = AIR_HEAT_RATIO,
    gas_constant: float = AIR_GAS_CONSTANT,
) -> float:
    """Mass flow through an orifice or throttle, choked or not; negative for reversed pressures. [kg/s]

    Isentropic to the throat, no pressure recovery behind it. Backflow takes the same temperature, which
    is right for a bleed at ambient temperature and a few percent off for hot manifold gas.

    Args:
        area: of the throat. [m²]
        discharge: contraction and friction together. [-]
        upstream_pressure: total absolute pressure before the throat. [Pa]
        upstream_temperature: total temperature before the throat. [K]
        downstream_pressure: static absolute pressure behind it. [Pa]
        heat_ratio: cp/cv. [-]
        gas_constant: specific. [J/(kg K)]

    References:
        [1] Heywood, Internal Combustion Engine Fundamentals (1988), appendix C, equations C.8 and C.9.

    >>> round(1e3 * compressible_flow(1e-4, 0.8, 101325.0, 288.15, 35000.0), 3)  # g/s, choked
    19.299
    """
    high, low, sign = upstream_pressure, downstream_pressure, 1.0
    if low > high:
        high, low, sign = low, high, -1.0
    if high <= 0.0:
        return 0.0
    ratio = low / high
    critical = (2.0 / (heat_ratio + 1.0)) ** (heat_ratio / (heat_ratio - 1.0))
    if ratio < critical:
        ratio = critical
    expansion = ratio ** (1.0 / heat_ratio)
    # ratio**((g-1)/g) is ratio/expansion: one power instead of two
    speed_term = 2.0 * heat_ratio / (heat_ratio - 1.0) * (1.0 - ratio / expansion)
    if speed_term < 0.0:
        speed_term = 0.0
    flux = high * expansion * sqrt(speed_term / (gas_constant * upstream_temperature))
    return float(sign * discharge * area * flux)


def venturi_depression(
    mass_flow: float,
    area: float,
    discharge: float,
    pressure: float,
    temperature: float,
    heat_ratio: float = AIR_HEAT_RATIO,
    gas_constant: float = AIR_GAS_CONSTANT,
) -> float:
    """Total minus throat static pressure needed to pass that air flow. [Pa]

    Two Newton steps from a fitted start: the flow is met within 1e-8 for air. Sonic limit: no depression
    passes more than `discharge * area * choked_mass_flux`; at and beyond it the sonic depression
    `(1 - critical_pressure_ratio) * pressure` is returned, so compare the flow with that limit where it
    matters (`sonic_share`). Zero for no flow or flow the other way.

    Args:
        mass_flow: of air. [kg/s]
        area: of the throat. [m²]
        discharge: actual over ideal flow. [-]
        pressure: total absolute pressure before the venturi. [Pa]
        temperature: total temperature before it. [K]
        heat_ratio: cp/cv. [-]
        gas_constant: specific. [J/(kg K)]

    >>> round(venturi_depression(0.040, 5.3e-4, 0.85, 101325.0, 293.15))
    3396
    """
    if mass_flow <= 0.0:
        return 0.0
    air, half = heat_ratio == 1.4, 0.5 * (heat_ratio - 1.0)
    power = (heat_ratio + 1.0) / (2.0 * (heat_ratio - 1.0))
    # the Mach number m solves m * (1 + half m²)**-power = target; power is 3 for air, and no pow is needed
    target = mass_flow / (discharge * area * pressure) * sqrt(gas_constant * temperature / heat_ratio)
    base = 1.0 + half
    loss = 1.0 / (base * base * base) if air else base**-power
    if target < loss:
        closeness = sqrt(1.0 - target / loss)
        mach = 1.0 - closeness * (1.0942 - closeness * (0.3071 - 0.2114 * closeness))
        for _ in range(2):
            base = 1.0 + half * mach * mach
            loss = 1.0 / (base * base * base) if air else base**-power
            # Newton; the slope is loss * (1 - m²) / base
            mach += (target / loss - mach) * base / (1.0 - mach * mach)
        base = 1.0 + half * mach * mach
        loss = 1.0 / (base * base * base) if air else base**-power
    # static over total pressure is base**-(power + 1/2)
    return float(pressure * (1.0 - loss / sqrt(base)))


def require_gas_passage(area: float, discharge: float, temperature: float) -> None:
    """Refuse a passage or gas state that the laws above would turn into nonsense.

    For use where a part is built.

    Raises:
        ValueError: negative area, discharge outside 0 to 1, or temperature not positive.
    """
    require_not_negative("passage area", area, "m²")
    require_fraction("discharge coefficient", discharge)
    require_positive("gas temperature", temperature, "K")


def sonic_share(
    mass_flow: float, area: float, discharge: float, pressure: float, temperature: float
) -> float:
    """Air flow over the largest that the passage can take. [-]

    Args:
        mass_flow: of air. [kg/s]
        area: of the throat. [m²]
        discharge: actual over ideal flow. [-]
        pressure: total absolute pressure before it. [Pa]
        temperature: total temperature before it. [K]
    """
    limit = discharge * area * choked_mass_flux(pressure, temperature)
    return mass_flow / limit if limit > 0.0 else inf
