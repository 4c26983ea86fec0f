"""Secondary barrels: a second pair of plates that a linkage opens late, each with a fixed jet and no idle circuit.

Modeled: progressive mechanical linkage, air shared by open plate area, fuel by one fixed jet under the signal of its
own venturi. Left out: an air valve above the plates with its own rods, and the secondaries' bleed and transfer slot.
"""

from __future__ import annotations

from math import cos, pi, sqrt

from dwellwright.carburetor.passages import CLOSED_PLATE_ANGLE, Passages
from dwellwright.compiled import register_jitable
from dwellwright.physics import gas_flow, liquid_flow
from dwellwright.physics.atmosphere import GRAVITY
from dwellwright.physics.gas_flow import AIR_GAS_CONSTANT

PLATE_HALVINGS = 40
"""Halvings of the linkage's travel when its place is searched: 1e-12 of it."""

metered_flow = register_jitable(liquid_flow.metered_flow)
venturi_depression = register_jitable(gas_flow.venturi_depression)


@register_jitable
def plate_area(bore: float, travel: float) -> float:
    """Open area of a plate at a share of its travel from closed to upright. [m²]"""
    angle = CLOSED_PLATE_ANGLE + min(max(travel, 0.0), 1.0) * (0.5 * pi - CLOSED_PLATE_ANGLE)
    return 0.25 * pi * bore * bore * (1.0 - cos(angle) / cos(CLOSED_PLATE_ANGLE))


@register_jitable
def secondary_travel(p: Passages, travel: float) -> float:
    """Share of their travel that the secondary plates have made when the primary ones are at a share of theirs. [-]"""
    return min(max((travel - p.secondary_starts) / (1.0 - p.secondary_starts), 0.0), 1.0)


@register_jitable
def secondary_air_share(p: Passages, open_area: float) -> float:
    """Share of the air that passes the secondary barrels when the plates together are open by an area. [-]"""
    if p.secondary_barrels < 0.5:
        return 0.0
    if open_area <= p.barrels * plate_area(p.throttle_bore, p.secondary_starts):
        return 0.0
    low, high = p.secondary_starts, 1.0
    for _ in range(PLATE_HALVINGS):
        travel = 0.5 * (low + high)
        first = p.barrels * plate_area(p.throttle_bore, travel)
        second = p.secondary_barrels * plate_area(p.secondary_bore, secondary_travel(p, travel))
        if first + second < open_area:
            low = travel
        else:
            high = travel
    first = p.barrels * plate_area(p.throttle_bore, high)
    second = p.secondary_barrels * plate_area(p.secondary_bore, secondary_travel(p, high))
    return second / (first + second)


@register_jitable
def secondary_fuel(p: Passages, air: float, level: float, fuel: tuple[float, float], ambient_pressure: float,
                   air_temperature: float) -> float:  # fmt: skip
    """Fuel of all secondary barrels; nothing before their signal lifts it to the nozzle. [kg/s]

    Args:
        p: passages.
        air: through all secondary barrels. [kg/s]
        level: error of the fuel level. [m]
        fuel: density [kg/m³] and viscosity [Pa s].
        ambient_pressure: [Pa]
        air_temperature: at the air horn. [K]
    """
    if air <= 0.0 or p.secondary_jet_diameter <= 0.0:
        return 0.0
    density, viscosity = fuel
    signal = p.boost_gain * venturi_depression(
        air / p.secondary_barrels, p.secondary_venturi_effective_area, 1.0, ambient_pressure, air_temperature, 1.4,
        AIR_GAS_CONSTANT,
    )  # fmt: skip
    drop = signal - GRAVITY * density * (p.nozzle_lift - level)
    if drop <= 0.0:
        return 0.0
    # jet and nozzle in series, the nozzle as wide as the primaries'
    jet = 0.25 * pi * p.secondary_jet_diameter * p.secondary_jet_diameter
    alone = metered_flow(jet, p.secondary_jet_diameter, p.jet_length / p.secondary_jet_diameter, drop, density,
                         viscosity)  # fmt: skip
    free = p.nozzle_effective_area * sqrt(2.0 * density * drop)
    return p.secondary_barrels * alone * free / sqrt(alone * alone + free * free)
