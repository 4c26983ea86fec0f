"""One barrel's fuel network with the actuator held at one end: main and idle circuit fed through one jet.

Unknowns are the fuel through the jet and the fuel through the idle tube. Everything else follows from them
without a search: the jet's pressure drop, the depression of the idle cross-over, the air that the bleeds let in.
The blend of main and idle is what the two balances give; there are no weights.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import NamedTuple

from dwellwright.compiled import register_jitable
from dwellwright.physics import liquid_flow
from dwellwright.physics.atmosphere import GRAVITY

AIR_VOLUME_FACTOR = 1.0
"""Multiplier on the air's volume in a bled passage; prior 0.6-1.4, assumed. [-]"""
CRITICAL_RATIO = 0.607
"""Throat over upstream pressure at which a mixture of nearly all air by volume chokes, exp(-1/2):
the isothermal limit that `physics.two_phase.mixture_critical_ratio` gives for a void of 1. [-]"""
TUBE_LOSS = 1.5
"""Entry and velocity-head loss of the idle tube, in velocity heads, assumed. [-]"""
NEWTON_STEPS = 14
HALVINGS = 48
"""Halvings of each bracket where Newton's steps hop over the kink at which a circuit starts: 2**-48 of the flow."""
CLOSE_ENOUGH = 1e-6
"""Relative change of both flows at which the solution counts as found; Newton squares it, so 1e-11 is left. [-]"""

discharge_coefficient = register_jitable(liquid_flow.discharge_coefficient)


class Held(NamedTuple):
    """One barrel with the actuator held at one end.

    Args:
        jet_area: open area between jet and rod. [m²]
        jet_gap: bore minus rod, the hydraulic diameter. [m]
        jet_slenderness: jet length over gap. [-]
        power_effective_area: of the power jet, as far as open. [m²]
        venturi_depression: at the nozzle. [Pa]
        nozzle_effective_area: [m²]
        nozzle_head: lift from fuel level to nozzle as a pressure. [Pa]
        main_bleed_effective_area: [m²]
        idle_head: lift from fuel level to the idle cross-over as a pressure. [Pa]
        tube_square: idle tube's drop per flow squared. [Pa s²/kg²]
        tube_linear: idle tube's drop per flow, laminar. [Pa s/kg]
        idle_bleed_effective_area: of all bleeds and of the slot above the plate. [m²]
        idle_effective_area: discharge to the manifold, channel and ports in series. [m²]
        ambient_pressure: [Pa]
        manifold_pressure: absolute. [Pa]
        air_density: at the air horn. [kg/m³]
        fuel_density: [kg/m³]
        fuel_viscosity: [Pa s]
    """

    jet_area: float
    jet_gap: float
    jet_slenderness: float
    power_effective_area: float
    venturi_depression: float
    nozzle_effective_area: float
    nozzle_head: float
    main_bleed_effective_area: float
    idle_head: float
    tube_square: float
    tube_linear: float
    idle_bleed_effective_area: float
    idle_effective_area: float
    ambient_pressure: float
    manifold_pressure: float
    air_density: float
    fuel_density: float
    fuel_viscosity: float


@register_jitable
def head(height: float, density: float) -> float:
    """Pressure of a column of fuel. [Pa]"""
    return GRAVITY * density * height


@register_jitable
def tube_coefficients(
    area: float, diameter: float, length: float, density: float, viscosity: float
) -> tuple[float, float]:
    """Drop of a tube as square [Pa s²/kg²] and linear [Pa s/kg] in mass flow: entry loss and Poiseuille's law."""
    square = TUBE_LOSS / (2.0 * density * area * area)
    linear = 128.0 * viscosity * length / (pi * diameter**4 * density)
    return square, linear


@register_jitable
def bled_flow(
    effective_area: float, drive: float, air: float, air_density: float, fuel_density: float
) -> float:
    """Fuel beside a given air flow through one passage, `physics.two_phase` solved for the liquid. [kg/s]"""
    volume = AIR_VOLUME_FACTOR * air / air_density
    linear = volume * fuel_density + air
    constant = (air * volume - 2.0 * effective_area * effective_area * max(drive, 0.0)) * fuel_density
    if constant >= 0.0:
        return 0.0
    return -2.0 * constant / (linear + sqrt(linear * linear - 4.0 * constant))


@register_jitable
def bled_slope(fuel: float, air: float, air_slope: float, drive_slope: float, effective_area: float,
               air_density: float, fuel_density: float) -> float:  # fmt: skip
    """How that fuel changes when bled air and drive change with a pressure, by the implicit function. [kg/(s Pa)]"""
    volume = fuel / fuel_density + AIR_VOLUME_FACTOR * air / air_density
    by_fuel = volume + (fuel + air) / fuel_density
    by_air = volume + (fuel + air) * AIR_VOLUME_FACTOR / air_density
    return (2.0 * effective_area * effective_area * drive_slope - by_air * air_slope) / by_fuel


@register_jitable
def main_fuel(held: Held, jet_drop: float) -> tuple[float, float]:
    """Fuel out of the main nozzle [kg/s] and its slope with the jet's drop [kg/(s Pa)]."""
    depression = jet_drop + held.nozzle_head
    drive = held.venturi_depression - depression
    if drive <= 0.0:
        return 0.0, 0.0
    air, slope = 0.0, 0.0
    if depression > 1e-6:
        air = held.main_bleed_effective_area * sqrt(2.0 * held.air_density * depression)
        slope = air / (2.0 * depression)
    fuel = bled_flow(held.nozzle_effective_area, drive, air, held.air_density, held.fuel_density)
    if fuel <= 0.0:
        return 0.0, 0.0
    return fuel, bled_slope(
        fuel, air, slope, -1.0, held.nozzle_effective_area, held.air_density, held.fuel_density
    )


@register_jitable
def idle_fuel(held: Held, depression: float) -> tuple[float, float]:
    """Fuel out of the idle ports [kg/s] and its slope with the cross-over's depression [kg/(s Pa)]."""
    inside = held.ambient_pressure - depression
    drop, drop_slope = inside - held.manifold_pressure, -1.0
    if held.manifold_pressure < CRITICAL_RATIO * inside:
        drop, drop_slope = (1.0 - CRITICAL_RATIO) * inside, CRITICAL_RATIO - 1.0
    if drop <= 0.0:
        return 0.0, 0.0
    air, slope = 0.0, 0.0
    if depression > 1e-6:
        air = held.idle_bleed_effective_area * sqrt(2.0 * held.air_density * depression)
        slope = air / (2.0 * depression)
    density = held.air_density * inside / held.ambient_pressure
    fuel = bled_flow(held.idle_effective_area, drop, air, density, held.fuel_density)
    if fuel <= 0.0:
        return 0.0, 0.0
    return fuel, bled_slope(
        fuel, air, slope, drop_slope, held.idle_effective_area, density, held.fuel_density
    )


@register_jitable
def jet_drop(held: Held, fuel: float) -> float:
    """Pressure drop over the jet that passes this fuel, its coefficient following Reynolds. [Pa]"""
    reynolds = fuel * held.jet_gap / (held.jet_area * held.fuel_viscosity)
    effective = (
        discharge_coefficient(reynolds, held.jet_slenderness) * held.jet_area + held.power_effective_area
    )
    return fuel * fuel / (2.0 * held.fuel_density * effective * effective)


@register_jitable
def newton_solution(held: Held, total: float, idle: float) -> tuple[float, float, bool]:
    """Fuel through the jet and through the idle tube [kg/s], and whether the steps closed in.

    Newton on the two balances. Their Jacobian is an M-matrix (jet and tube resist more with flow, main and idle
    give less with depression), so the step points the right way everywhere but across a kink.

    Args:
        held: the barrel.
        total: where to start, fuel through the jet; 0 for a guess. [kg/s]
        idle: where to start, fuel through the idle tube. [kg/s]
    """
    if total <= 0.0:
        total = held.jet_area * 0.7 * sqrt(2.0 * held.fuel_density * max(held.venturi_depression, 60.0))
        idle = 0.5 * total
    for _ in range(NEWTON_STEPS):
        drop = jet_drop(held, total)
        drop_slope = 2.0 * drop / total
        out_main, main_slope = main_fuel(held, drop)
        tube = (held.tube_square * idle + held.tube_linear) * idle
        tube_slope = 2.0 * held.tube_square * idle + held.tube_linear
        out_idle, idle_slope = idle_fuel(held, drop + held.idle_head + tube)
        first, second = total - idle - out_main, idle - out_idle
        a, c = 1.0 - main_slope * drop_slope, -idle_slope * drop_slope
        d = 1.0 - idle_slope * tube_slope
        determinant = a * d + c
        new_total = max(total - (first * d + second) / determinant, 0.1 * total, 1e-9)
        new_idle = max(idle - (second * a - first * c) / determinant, 0.1 * idle if out_idle > 0.0 else 0.0)
        change = abs(new_total - total) + abs(new_idle - idle)
        total, idle = new_total, new_idle
        if change < CLOSE_ENOUGH * total:
            return total, idle, True
    return total, idle, False


@register_jitable
def idle_share_of(held: Held, drop: float) -> float:
    """Fuel through the idle tube when the jet's drop is known, by halving. [kg/s]"""
    low, high = 0.0, idle_fuel(held, drop + held.idle_head)[0]
    for _ in range(HALVINGS):
        idle = 0.5 * (low + high)
        tube = (held.tube_square * idle + held.tube_linear) * idle
        if idle > idle_fuel(held, drop + held.idle_head + tube)[0]:
            high = idle
        else:
            low = idle
    return 0.5 * (low + high)


@register_jitable
def bracketed_solution(held: Held) -> tuple[float, float]:
    """The same two flows by halving a bracket: both balances are monotone, so this cannot miss. [kg/s]"""
    low, high = 0.0, main_fuel(held, 0.0)[0] + idle_fuel(held, held.idle_head)[0] + 1e-12
    for _ in range(HALVINGS):
        total = 0.5 * (low + high)
        drop = jet_drop(held, total)
        if total > main_fuel(held, drop)[0] + idle_share_of(held, drop):
            high = total
        else:
            low = total
    total = 0.5 * (low + high)
    return total, idle_share_of(held, jet_drop(held, total))


@register_jitable
def solved(held: Held, total: float = 0.0, idle: float = 0.0) -> tuple[float, float]:
    """Fuel through the jet and through the idle tube, from a start if there is one. [kg/s]"""
    total, idle, found = newton_solution(held, total, idle)
    if found:
        return total, idle
    return bracketed_solution(held)
