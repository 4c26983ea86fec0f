"""One barrel at one operating point with the actuator held at a command: what the network is given, what it gives."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.actuator import Command
from dwellwright.carburetor.air import OperatingPoint
from dwellwright.carburetor.network import Held, head, tube_coefficients
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.solution import solution
from dwellwright.carburetor.state import Field
from dwellwright.compiled import register_jitable
from dwellwright.physics.gas_flow import AIR_GAS_CONSTANT

THINNEST_ROD = 2e-4
"""A rod's metering section is never thinner than this. [m]"""
NARROWEST_GAP = 1e-5
"""Least gap between rod and jet; a rod that would close it rests on the jet's edge, assumed. [m]"""
MOST_SLENDER = 40.0
"""Jet length over gap at which the discharge law is held: its fit ends at 10, and near 97 its coefficient is gone;
assumed. [-]"""


@register_jitable(forceinline=True)
def rod_diameter(p: Passages, height_error: float, nominal: float) -> float:
    """Rod diameter in the jet at a nominal height share (0 lean stop, 1 rich stop) plus an error in height. [m]"""
    taper = (p.rod_at_rich - p.rod_at_lean) / p.rod_travel
    diameter = p.rod_at_lean + taper * (nominal * p.rod_travel + height_error)
    return min(max(diameter, THINNEST_ROD), p.jet_diameter - NARROWEST_GAP)


@register_jitable(forceinline=True)
def height_errors(p: Passages, state: NDArray[np.float64]) -> tuple[float, float]:
    """Height errors of the rods at the lean and at the rich end, with lost travel and sticking. [m]"""
    lost, stuck = 0.5 * state[Field.ROD_TRAVEL_LOST], state[Field.RODS_STUCK]
    low, high = state[Field.LEAN_STOP] + lost, p.rod_travel + state[Field.RICH_STOP] - lost
    span = max(high - low, 0.0)
    low += max(stuck, 0.0) * span
    high -= max(-stuck, 0.0) * span
    return low, max(high, low) - p.rod_travel


@register_jitable(forceinline=True)
def power_opening(p: Passages, vacuum: float, offset: float, piston: float) -> float:
    """Share of the power jet that is open at a manifold vacuum. [-]

    The piston rubs in its bore: it follows a falling vacuum late, and a rising one late too.

    Args:
        p: passages.
        vacuum: in the manifold. [Pa]
        offset: error of the vacuum at which the piston acts, + = acts earlier. [Pa]
        piston: 1 where the vacuum rose to here (the piston was up), -1 where it fell to here, 0 where nobody knows. [-]
    """
    share = (p.power_closes + offset + piston * p.power_friction - vacuum) / (p.power_closes - p.power_opens)
    return min(max(share, 0.0), 1.0)


class Setting(NamedTuple):
    """What both ends of the actuator share at one operating point.

    Args:
        air: through one barrel. [kg/s]
        slot: length of the transfer slot below the plate. [m]
        level: error of the fuel level. [m]
        density: of the fuel. [kg/m³]
        viscosity: of the fuel. [Pa s]
        signal: depression at the nozzle. [Pa]
    """

    air: float
    slot: float
    level: float
    density: float
    viscosity: float
    signal: float


@register_jitable(forceinline=True)
def between(p: Passages, lean_share: float) -> Command:
    """The command at a place between the actuator's ends: 0 rich, 1 lean."""
    x = lean_share
    return Command(
        p.rich_rods + x * (p.lean_rods - p.rich_rods),
        p.rich_idle_bleed + x * (p.lean_idle_bleed - p.rich_idle_bleed),
        p.rich_main_bleed + x * (p.lean_main_bleed - p.rich_main_bleed),
        p.rich_auxiliary + x * (p.lean_auxiliary - p.rich_auxiliary),
    )


@register_jitable(forceinline=True)
def rod_in_jet(p: Passages, state: NDArray[np.float64], rods: float) -> float:
    """Diameter of the rod in the jet with the rods at a share of their travel. [m]"""
    low, high = height_errors(p, state)
    return rod_diameter(p, low + rods * (high - low), rods)


@register_jitable(forceinline=True)
def held_at(p: Passages, state: NDArray[np.float64], point: OperatingPoint, setting: Setting, needle: float,
            command: Command) -> Held:  # fmt: skip
    """One barrel with the actuator held at a command."""
    ambient = state[Field.AMBIENT_PRESSURE]
    rod = rod_in_jet(p, state, command.rods)
    jet = max((1.0 + state[Field.MAIN_JET_ERROR]) * state[Field.MAIN_SCALE], 0.05)
    gap = p.jet_diameter - rod
    area = 0.785398163397448 * gap * (p.jet_diameter + rod) * jet
    air_density = ambient / (AIR_GAS_CONSTANT * state[Field.AIR_TEMPERATURE])
    port = p.port_effective_area * max(1.0 + p.needle_per_turn * needle, 0.02) * state[Field.IDLE_SCALE]
    open_ports = port + p.slot_effective_width * setting.slot
    channel = p.channel_effective_area * max(1.0 - state[Field.IDLE_CHANNEL_BLOCKED], 1e-3)
    bleeds = p.fixed_bleed_effective_area * max(1.0 - state[Field.IDLE_BLEED_BLOCKED], 0.0)
    bleeds += p.screw_bleed_effective_area * max(1.0 + p.screw_bleed_per_turn * state[Field.IDLE_BLEED], 0.0)
    bleeds += p.slot_effective_width * (p.slot_length - setting.slot)
    bleeds += p.pulsed_bleed_effective_area * command.idle_bleed
    square, linear = tube_coefficients(
        p.tube_area, p.tube_diameter, p.tube_length, setting.density, setting.viscosity
    )
    power = power_opening(p, ambient - point.manifold_pressure, state[Field.POWER_VACUUM], point.piston)
    return Held(
        jet_area=area,
        jet_reynolds=gap / (area * setting.viscosity),
        jet_slenderness=min(p.jet_length / gap, MOST_SLENDER),
        power_effective_area=p.power_effective_area * power + p.auxiliary_effective_area * command.auxiliary,
        venturi_depression=setting.signal,
        nozzle_effective_area=p.nozzle_effective_area,
        nozzle_head=head(p.nozzle_lift - setting.level, setting.density),
        main_bleed_effective_area=p.main_bleed_effective_area
        * max(1.0 - state[Field.MAIN_BLEED_BLOCKED], 0.0)
        + p.main_pulsed_bleed_effective_area * command.main_bleed,
        idle_head=head(p.idle_lift - setting.level, setting.density),
        tube_square=square,
        tube_linear=linear,
        idle_bleed_effective_area=bleeds,
        idle_effective_area=open_ports * channel / sqrt(open_ports * open_ports + channel * channel),
        ambient_pressure=ambient,
        manifold_pressure=point.manifold_pressure,
        air_density=air_density,
        air_volume=1.0 / air_density,
        fuel_density=setting.density,
        fuel_volume=1.0 / setting.density,
    )


@register_jitable
def fuel_at(p: Passages, state: NDArray[np.float64], point: OperatingPoint, setting: Setting, command: Command,
            start: tuple[float, float]) -> tuple[float, float, float]:  # fmt: skip
    """Fuel of all primary barrels with the actuator held at a command, and the last barrel's two flows. [kg/s]

    Args:
        p: passages.
        state: of the car.
        point: operating point.
        setting: what both ends share.
        command: of the actuator.
        start: jet and idle fuel of a nearby solution, zeros if there is none. [kg/s]
    """
    left, right = state[Field.NEEDLE_LEFT], state[Field.NEEDLE_RIGHT]
    first, idle = solution(held_at(p, state, point, setting, left, command), start[0], start[1])
    if p.barrels < 1.5:
        return first, first, idle
    if left == right:
        return 2.0 * first, first, idle
    second, idle = solution(held_at(p, state, point, setting, right, command), first, idle)
    return first + second, second, idle
