"""Steady state of the closed loop: fuel at both ends of the actuator, and the duty that meets the demand."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint, hole_flux, plate_edge, swallowed_air
from dwellwright.carburetor.barrel import Setting, between, fuel_at, rod_in_jet
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.state import Field, fuel_columns
from dwellwright.compiled import njit, prange, register_jitable
from dwellwright.physics import gas_flow
from dwellwright.physics.gas_flow import AIR_GAS_CONSTANT

LEVEL_PER_PRESSURE = 3e-8
"""Rise of the level per pascal more at the float needle, assumed. [m/Pa]"""
LEVEL_BAND = 1.0e-3
"""Rise of the level from float shut to float full open, assumed: a seat leak as large as the demand lifts it so. [m]"""
PURGE_VAPOR = 0.35
"""Fuel mass share of purged canister vapor with a loaded canister, assumed. [-]"""
POSITION_HALVINGS = 24
"""Halvings of the travel when a standing actuator's place is searched: 6e-8 of it."""
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
def setting_at(p: Passages, state: NDArray[np.float64], fuel: tuple[float, float], flux: float, total: float,
               demand: float) -> Setting:  # fmt: skip
    """What an operating point sets for both ends: air past the leaks, plate and slot, level, signal."""
    ambient, temperature = state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE]
    holes = (
        max(p.ventilation_area + state[Field.VENTILATION], 0.0)
        + state[Field.VACUUM_LEAK]
        + state[Field.PURGE]
    )
    through = max(total - holes * flux, 0.05 * total) / p.barrels
    edge = plate_edge(p.throttle_bore, through, flux)
    slot = min(max(p.slot_at_idle + edge - p.idle_plate_edge, 0.0), p.slot_length)
    signal = p.boost_gain * venturi_depression(
        through, p.venturi_effective_area, 1.0, ambient, temperature, 1.4, AIR_GAS_CONSTANT
    )
    level = fuel_level(state, state[Field.SEAT_LEAK] * p.idle_fuel_flow / demand)
    return Setting(through, slot, level, fuel[0], fuel[1], signal)


@register_jitable
def lean_share(p: Passages, state: NDArray[np.float64], point: OperatingPoint, setting: Setting, wanted: float,
               rich: float, lean: float) -> float:  # fmt: skip
    """How far towards lean the actuator must go for the wanted fuel; outside 0 to 1 where neither end reaches it. [-]

    A pulsed actuator gives the mean of its ends, so the answer is a ratio; one that stands in between is searched.
    """
    span = rich - lean
    if span <= 1e-12:
        return 1.0e6 if rich > wanted else -1.0e6
    if p.positional < 0.5 or wanted >= rich or wanted <= lean:
        return (rich - wanted) / span
    low, high = 0.0, 1.0
    for _ in range(POSITION_HALVINGS):
        middle = 0.5 * (low + high)
        if fuel_at(p, state, point, setting, between(p, middle), (0.0, 0.0))[0] > wanted:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@register_jitable
def commanded_duty(p: Passages, state: NDArray[np.float64], share: float, vacuum: float) -> float:
    """Duty (or position) that the computer must command for a place between the ends. [-]

    Pull-in and drop-out times shift a pulsed one; a diaphragm needs the vacuum at its place out of what there is.
    """
    share -= state[Field.ACTUATOR_OFFSET]
    if p.regulated_vacuum > 0.0:
        supply = max(min(vacuum, p.regulated_vacuum), 1.0)
        return (p.diaphragm_starts + share * (p.diaphragm_ends - p.diaphragm_starts)) / supply
    if p.positional > 0.5:
        return share
    if p.energized_is_lean > 0.5:
        return share - p.solenoid_duty_shift
    return 1.0 - share - p.solenoid_duty_shift


@register_jitable
def steady_point(p: Passages, state: NDArray[np.float64], fuel: tuple[float, float], ratio: float,
                 point: OperatingPoint, out: NDArray[np.float64]) -> None:  # fmt: skip
    """Fill `out` (shape (COLUMNS,)) with the steady state of one car at one point; duty is not yet limited."""
    total = swallowed_air(p, point, state[Field.AIR_TEMPERATURE])
    target = target_lambda(p, state, total * (1.0 + 1.0 / ratio))
    demand = total / (ratio * target)
    flux = hole_flux(point, state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE])
    setting = setting_at(p, state, fuel, flux, total, demand)
    extra = (
        max(state[Field.SEAT_LEAK] * p.idle_fuel_flow - demand, 0.0) + PURGE_VAPOR * state[Field.PURGE] * flux
    )
    rich, jet, idle = fuel_at(p, state, point, setting, between(p, 0.0), (0.0, 0.0))
    lean = fuel_at(p, state, point, setting, between(p, 1.0), (jet, idle))[0]
    lean = rich + (lean - rich) * (1.0 - state[Field.SOLENOID_DEAD])
    share = lean_share(p, state, point, setting, demand - extra, rich, lean)
    rod = rod_in_jet(p, state, p.rich_rods)
    out[0], out[1], out[2], out[3] = rich + extra, lean + extra, demand, total
    out[4] = commanded_duty(p, state, share, state[Field.AMBIENT_PRESSURE] - point.manifold_pressure)
    out[5], out[8], out[7] = target, ratio, setting.signal
    out[6] = rich * 4.0 / (3.141592653589793 * p.barrels * (p.jet_diameter + rod) * setting.viscosity)


def lean_share_at(p: Passages, duty: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far towards lean a commanded duty (or position) puts the actuator, held to its travel. [-]

    A diaphragm is taken to have its full regulated vacuum.
    """
    if p.regulated_vacuum > 0.0:
        share = (duty * p.regulated_vacuum - p.diaphragm_starts) / (p.diaphragm_ends - p.diaphragm_starts)
    elif p.positional > 0.5:
        share = duty
    else:
        effective = duty + p.solenoid_duty_shift
        share = effective if p.energized_is_lean > 0.5 else 1.0 - effective
    return np.clip(share, 0.0, 1.0)


@njit(cache=True, parallel=True, nogil=True)
def _steady_batch(p, states, density, viscosity, ratio, points):  # type: ignore[no-untyped-def]
    cars, count = states.shape[0], points.shape[0]
    out = np.empty((cars, count, 9))
    for car in prange(cars):
        for k in range(count):
            point = OperatingPoint(points[k, 0], points[k, 1])
            steady_point(p, states[car], (density[car], viscosity[car]), ratio[car], point, out[car, k])
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
