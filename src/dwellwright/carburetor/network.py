"""One barrel's fuel network with the actuator held at one end: main and idle circuit fed through one jet.

Unknowns are the fuel through the jet and the fuel through the idle tube. Everything else follows from them
without a search: the jet's pressure drop, the depression of the idle cross-over, the air that the bleeds let in.
The blend of main and idle is what the two balances give; there are no weights. Every law is written without a branch,
so that the same lines solve one barrel or many side by side.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import NamedTuple

from dwellwright.carburetor.jet import LEAST_FLOW, jet_drop
from dwellwright.compiled import register_jitable
from dwellwright.physics.atmosphere import GRAVITY

AIR_VOLUME_FACTOR = 1.0
"""Multiplier on the air's volume in a bled passage; prior 0.6-1.4, assumed. [-]"""
CRITICAL_RATIO = 0.607
"""Throat over upstream pressure at which a mixture of nearly all air by volume chokes, exp(-1/2):
the isothermal limit that `physics.two_phase.mixture_critical_ratio` gives for a void of 1. [-]"""
TUBE_LOSS = 1.5
"""Entry and velocity-head loss of the idle tube, in velocity heads, assumed. [-]"""
NOTHING = 1e-300
"""Added to a divisor that is zero where a circuit is shut, so that the quotient is zero and no branch is needed."""
STILL_AIR = 1e-6
"""Depression below which a bleed passes nothing. [Pa]"""


class Held(NamedTuple):
    """One barrel with the actuator held at one end.

    Args:
        jet_area: open area between jet and rod. [m²]
        jet_reynolds: Reynolds number per fuel through the jet, gap over area and viscosity. [s/kg]
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
        air_volume: one over it. [m³/kg]
        fuel_density: [kg/m³]
        fuel_volume: one over it. [m³/kg]
    """

    jet_area: float
    jet_reynolds: float
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
    air_volume: float
    fuel_density: float
    fuel_volume: float


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


@register_jitable(forceinline=True)
def bled_flow(effective_area: float, drive: tuple[float, float], air: tuple[float, float], air_volume: float,
              held: Held) -> tuple[float, float]:  # fmt: skip
    """Fuel beside a given air flow [kg/s], `physics.two_phase` solved for the liquid, and its slope [kg/(s Pa)].

    Args:
        effective_area: of the passage. [m²]
        drive: pressure drop over it [Pa], and its slope with the pressure that moves everything [-].
        air: let in before it [kg/s], and its slope with that pressure [kg/(s Pa)].
        air_volume: of that air. [m³/kg]
        held: whose fuel it is.
    """
    square = 2.0 * effective_area * effective_area
    volume = AIR_VOLUME_FACTOR * air[0] * air_volume
    linear = volume * held.fuel_density + air[0]
    constant = min((air[0] * volume - square * max(drive[0], 0.0)) * held.fuel_density, 0.0)
    root = sqrt(linear * linear - 4.0 * constant)
    inverse = 1.0 / (root * (linear + root) + NOTHING)
    fuel = -2.0 * constant * root * inverse
    by_air = fuel * held.fuel_volume + volume + (fuel + air[0]) * AIR_VOLUME_FACTOR * air_volume
    slope = (square * drive[1] - by_air * air[1]) * held.fuel_density * (linear + root) * inverse
    return fuel, slope if fuel > 0.0 else 0.0


@register_jitable(forceinline=True)
def bled_air(effective_area: float, depression: float, air_density: float) -> tuple[float, float]:
    """Air through a bleed [kg/s] and its slope with the depression [kg/(s Pa)]."""
    speed = sqrt(2.0 * air_density * max(depression, STILL_AIR))
    open_area = effective_area if depression > STILL_AIR else 0.0
    return open_area * speed, open_area * air_density / speed


@register_jitable(forceinline=True)
def main_fuel(held: Held, drop: float) -> tuple[float, float]:
    """Fuel out of the main nozzle [kg/s] and its slope with the jet's drop [kg/(s Pa)]."""
    depression = drop + held.nozzle_head
    drive = (held.venturi_depression - depression, -1.0)
    air = bled_air(held.main_bleed_effective_area, depression, held.air_density)
    return bled_flow(held.nozzle_effective_area, drive, air, held.air_volume, held)


@register_jitable(forceinline=True)
def idle_fuel(held: Held, depression: float) -> tuple[float, float]:
    """Fuel out of the idle ports [kg/s] and its slope with the cross-over's depression [kg/(s Pa)]."""
    inside = held.ambient_pressure - depression
    choked = held.manifold_pressure < CRITICAL_RATIO * inside
    drop = (1.0 - CRITICAL_RATIO) * inside if choked else inside - held.manifold_pressure
    drop_slope = CRITICAL_RATIO - 1.0 if choked else -1.0
    air = bled_air(held.idle_bleed_effective_area, depression, held.air_density)
    volume = held.air_volume * held.ambient_pressure / max(inside, 1.0)
    return bled_flow(held.idle_effective_area, (drop, drop_slope), air, volume, held)


@register_jitable(forceinline=True)
def drop_over_jet(held: Held, fuel: float) -> tuple[float, float]:
    """Pressure drop over the jet that passes this fuel [Pa], and its slope with the fuel [Pa s/kg]."""
    return jet_drop(fuel, held.jet_area, held.jet_reynolds, held.jet_slenderness, held.power_effective_area,
                    held.fuel_volume)  # fmt: skip


@register_jitable(forceinline=True)
def tube_drop(held: Held, idle: float) -> tuple[float, float]:
    """Pressure drop of the idle tube [Pa], and its slope with its fuel [Pa s/kg]."""
    return (
        held.tube_square * idle + held.tube_linear
    ) * idle, 2.0 * held.tube_square * idle + held.tube_linear


@register_jitable(forceinline=True)
def newton_step(held: Held, total: float, idle: float) -> tuple[float, float, float]:
    """One step on both balances: fuel through the jet and the idle tube [kg/s], and what the balances still lacked.

    Their Jacobian is an M-matrix (jet and tube resist more with flow, main and idle give less with depression), so
    the step points the right way everywhere but across a kink.

    Args:
        held: the barrel.
        total: fuel through the jet, above zero. [kg/s]
        idle: fuel through the idle tube. [kg/s]
    """
    drop, drop_slope = drop_over_jet(held, total)
    out_main, main_slope = main_fuel(held, drop)
    tube, tube_slope = tube_drop(held, idle)
    out_idle, idle_slope = idle_fuel(held, drop + held.idle_head + tube)
    first, second = total - idle - out_main, idle - out_idle
    a, c = 1.0 - main_slope * drop_slope, -idle_slope * drop_slope
    d = 1.0 - idle_slope * tube_slope
    inverse = 1.0 / (a * d + c)
    new_total = max(total - (first * d + second) * inverse, 0.1 * total, LEAST_FLOW)
    new_idle = max(idle - (second * a - first * c) * inverse, 0.1 * idle if out_idle > 0.0 else 0.0)
    return new_total, new_idle, abs(first) + abs(second)
