"""Steady state of the closed loop: fuel at both ends of the actuator, and the duty that meets the demand."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint, hole_air, plate_edge, swallowed_air
from dwellwright.carburetor.network import Held, head, solved, tube_coefficients
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.state import Field, fuel_columns
from dwellwright.compiled import njit, prange, register_jitable
from dwellwright.physics import gas_flow
from dwellwright.physics.gas_flow import AIR_GAS_CONSTANT

THINNEST_ROD = 2e-4
"""A rod's metering section is never thinner than this. [m]"""
NARROWEST_GAP = 1e-5
"""Least gap between rod and jet; a rod that would close it rests on the jet's edge, assumed. [m]"""
LEVEL_PER_PRESSURE = 3e-8
"""Rise of the level per pascal more at the float needle, assumed. [m/Pa]"""
LEVEL_BAND = 1.0e-3
"""Rise of the level from float shut to float full open, assumed: a seat leak as large as the demand lifts it so. [m]"""
PURGE_VAPOR = 0.35
"""Fuel mass share of purged canister vapor with a loaded canister, assumed. [-]"""
BIAS_LEVER = 0.25
"""Lambda per volt of sensor bias: the width of the switching window as a real sensor smears it, assumed. [1/V]"""

venturi_depression = register_jitable(gas_flow.venturi_depression)


class Column(NamedTuple):
    """Columns of a steady result."""

    fuel_rich: int = 0
    fuel_lean: int = 1
    demand: int = 2
    air: int = 3
    duty: int = 4
    target_lambda: int = 5
    jet_reynolds: int = 6
    venturi_depression: int = 7
    stoichiometric_ratio: int = 8


COLUMN = Column()
COLUMNS = len(Column._fields)


@register_jitable
def rod_diameter(p: Passages, height_error: float, nominal: float) -> float:
    """Rod diameter in the jet at a nominal height share (0 lean stop, 1 rich stop) plus an error in height. [m]"""
    taper = (p.rod_at_rich - p.rod_at_lean) / p.rod_travel
    diameter = p.rod_at_lean + taper * (nominal * p.rod_travel + height_error)
    return min(max(diameter, THINNEST_ROD), p.jet_diameter - NARROWEST_GAP)


@register_jitable
def height_errors(p: Passages, state: NDArray[np.float64]) -> tuple[float, float]:
    """Height errors of the rods at the lean and at the rich end, with lost travel and sticking. [m]"""
    lost, stuck = 0.5 * state[Field.ROD_TRAVEL_LOST], state[Field.RODS_STUCK]
    low, high = state[Field.LEAN_STOP] + lost, p.rod_travel + state[Field.RICH_STOP] - lost
    span = max(high - low, 0.0)
    low += max(stuck, 0.0) * span
    high -= max(-stuck, 0.0) * span
    return low, max(high, low) - p.rod_travel


@register_jitable
def power_opening(p: Passages, vacuum: float, offset: float) -> float:
    """Share of the power jet that is open at a manifold vacuum. [-]"""
    share = (p.power_closes + offset - vacuum) / (p.power_closes - p.power_opens)
    return min(max(share, 0.0), 1.0)


@register_jitable
def held_end(p: Passages, state: NDArray[np.float64], point: OperatingPoint, air: float, slot: float, level: float,
             needle: float, energised: bool, fuel: tuple[float, float]) -> Held:  # fmt: skip
    """One barrel with the actuator held at the energised (lean) or released (rich) end."""
    density, viscosity = fuel
    ambient, temperature = state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE]
    low, high = height_errors(p, state)
    rod = rod_diameter(p, low, 0.0) if energised else rod_diameter(p, high, 1.0)
    jet = (1.0 + state[Field.MAIN_JET_ERROR]) * state[Field.MAIN_SCALE]
    gap = p.jet_diameter - rod
    port = p.port_effective_area * max(1.0 + p.needle_per_turn * needle, 0.02) * state[Field.IDLE_SCALE]
    open_ports = port + p.slot_effective_width * slot
    channel = p.channel_effective_area * max(1.0 - state[Field.IDLE_CHANNEL_BLOCKED], 1e-3)
    screw = max(1.0 + p.screw_bleed_per_turn * state[Field.IDLE_BLEED], 0.0)
    bleeds = p.fixed_bleed_effective_area * (1.0 - state[Field.IDLE_BLEED_BLOCKED])
    bleeds += p.screw_bleed_effective_area * screw + p.slot_effective_width * (p.slot_length - slot)
    bleeds += p.pulsed_bleed_effective_area if energised else 0.0
    square, linear = tube_coefficients(p.tube_area, p.tube_diameter, p.tube_length, density, viscosity)
    vacuum = ambient - point.manifold_pressure
    return Held(
        jet_area=0.785398163397448 * (p.jet_diameter - rod) * (p.jet_diameter + rod) * jet,
        jet_gap=gap,
        jet_slenderness=p.jet_length / gap,
        power_effective_area=p.power_effective_area * power_opening(p, vacuum, state[Field.POWER_VACUUM]),
        venturi_depression=p.boost_gain
        * venturi_depression(air, p.venturi_effective_area, 1.0, ambient, temperature, 1.4, AIR_GAS_CONSTANT),
        nozzle_effective_area=p.nozzle_effective_area,
        nozzle_head=head(p.nozzle_lift - level, density),
        main_bleed_effective_area=p.main_bleed_effective_area * (1.0 - state[Field.MAIN_BLEED_BLOCKED]),
        idle_head=head(p.idle_lift - level, density),
        tube_square=square,
        tube_linear=linear,
        idle_bleed_effective_area=bleeds,
        idle_effective_area=open_ports * channel / (open_ports * open_ports + channel * channel) ** 0.5,
        ambient_pressure=ambient,
        manifold_pressure=point.manifold_pressure,
        air_density=ambient / (AIR_GAS_CONSTANT * temperature),
        fuel_density=density,
        fuel_viscosity=viscosity,
    )


@register_jitable
def fuel_level(state: NDArray[np.float64], leak_share: float) -> float:
    """Level error with the engine running, a seat leak and wrong pressure included. [m]"""
    pressure = LEVEL_PER_PRESSURE * state[Field.FUEL_PRESSURE]
    level: float = state[Field.FUEL_LEVEL] + pressure + LEVEL_BAND * min(leak_share, 1.0)
    return level


@register_jitable
def target_lambda(p: Passages, state: NDArray[np.float64], exhaust: float) -> float:
    """Lambda of the burned mixture at which the sensor reads stoichiometry. [-]

    Air that reaches the sensor past the cylinders makes it read lean, so the loop enriches by as much; a sensor
    that reads rich makes the loop lean.
    """
    false_air = state[Field.EXHAUST_LEAK] * p.idle_exhaust_flow / exhaust + state[Field.INJECTED_AIR]
    target: float = 1.0 - false_air - state[Field.MISFIRE] + BIAS_LEVER * state[Field.SENSOR_BIAS]
    return max(target, 0.5)


@register_jitable
def steady_point(p: Passages, state: NDArray[np.float64], density: float, viscosity: float, ratio: float,
                 point: OperatingPoint, out: NDArray[np.float64]) -> None:  # fmt: skip
    """Fill `out` (shape (COLUMNS,)) with the steady state of one car at one point; duty is not yet limited."""
    ambient, temperature = state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE]
    total = swallowed_air(p, point, temperature)
    purge = hole_air(state[Field.PURGE], point, ambient, temperature)
    holes = max(p.ventilation_area + state[Field.VENTILATION], 0.0) + state[Field.VACUUM_LEAK]
    through = max(total - hole_air(holes, point, ambient, temperature) - purge, 0.05 * total) / p.barrels
    edge = plate_edge(p.throttle_bore, through, point, ambient, temperature)
    slot = min(max(p.slot_at_idle + edge - p.idle_plate_edge, 0.0), p.slot_length)
    target = target_lambda(p, state, total * (1.0 + 1.0 / ratio))
    demand = total / (ratio * target)
    leak = state[Field.SEAT_LEAK] * p.idle_fuel_flow
    level = fuel_level(state, leak / demand)
    extra = max(leak - demand, 0.0) + PURGE_VAPOR * purge
    rich, lean = extra, extra
    for barrel in range(int(p.barrels)):
        needle = state[Field.NEEDLE_LEFT] if barrel == 0 else state[Field.NEEDLE_RIGHT]
        for energised in (False, True):
            held = held_end(p, state, point, through, slot, level, needle, energised, (density, viscosity))
            fuel, _ = solved(held)
            if energised:
                lean += fuel
            else:
                rich += fuel
                out[6] = fuel * held.jet_gap / (held.jet_area * viscosity)
                out[7] = held.venturi_depression
    lean = rich + (lean - rich) * (1.0 - state[Field.SOLENOID_DEAD])
    span = rich - lean
    effective = (rich - demand) / span if span > 1e-12 else (1.0e6 if rich > demand else -1.0e6)
    out[0], out[1], out[2], out[3] = rich, lean, demand, total
    out[4] = effective - p.solenoid_duty_shift
    out[5], out[8] = target, ratio


@njit(cache=True, parallel=True, nogil=True)
def _steady_batch(p, states, density, viscosity, ratio, points):  # type: ignore[no-untyped-def]
    cars, count = states.shape[0], points.shape[0]
    out = np.empty((cars, count, 9))
    for car in prange(cars):
        for k in range(count):
            point = OperatingPoint(points[k, 0], points[k, 1])
            steady_point(p, states[car], density[car], viscosity[car], ratio[car], point, out[car, k])
    return out


def steady_batch(
    passages: Passages, states: NDArray[np.float64], points: list[OperatingPoint]
) -> NDArray[np.float64]:
    """Steady states of many cars at several points. [array of shape (cars, points, COLUMNS), SI]

    Args:
        passages: of the unit all cars share.
        states: packed states, shape (cars, FIELD_COUNT).
        points: operating points.
    """
    density, viscosity, ratio = fuel_columns(states[:, Field.ETHANOL], states[:, Field.FUEL_TEMPERATURE])
    result: NDArray[np.float64] = _steady_batch(
        passages, np.ascontiguousarray(states), density, viscosity, ratio, np.array(points, dtype=np.float64)
    )
    return result
