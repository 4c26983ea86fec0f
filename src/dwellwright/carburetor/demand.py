"""What one operating point asks of a car: air, wanted fuel, and what both ends of the actuator share."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint, plate_edge, swallowed_air
from dwellwright.carburetor.barrel import Setting
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.secondary import secondary_air_share, secondary_fuel
from dwellwright.carburetor.state import Field
from dwellwright.compiled import register_jitable
from dwellwright.physics import gas_flow
from dwellwright.physics.gas_flow import AIR_GAS_CONSTANT

LEVEL_PER_PRESSURE = 3e-8
"""Rise of the level per pascal more at the float needle, assumed. [m/Pa]"""
LEVEL_BAND = 1.0e-3
"""Rise of the level from float shut to float full open, assumed: a seat leak as large as the demand lifts it so. [m]"""
PURGE_VAPOR = 0.35
"""Fuel mass share of purged canister vapor with a loaded canister, assumed. [-]"""
BIAS_LEVER = 0.25
"""Lambda per volt of sensor bias: the width of the switching window as a real sensor smears it, assumed. [1/V]"""
BORNE_AT_IDLE, BORNE_AT_LOAD = 0.04, 0.20
"""Recirculated share of the charge that still burns without a miss, at the loads below, assumed. [-]"""
IDLE_LOAD, FULL_LOAD = 35e3, 60e3
"""Manifold pressures that go with them; below and above nothing changes. [Pa]"""
MISSED_PER_SHARE = 1.5
"""Share of cycles that miss per share of recirculated charge beyond what is borne, assumed. [-]"""

venturi_depression = register_jitable(gas_flow.venturi_depression)


class Demand(NamedTuple):
    """What an operating point asks of a car.

    Args:
        air: total. [kg/s]
        target: lambda of the burned mixture at which the sensor reads stoichiometry. [-]
        fuel: total fuel that gives it. [kg/s]
        extra: fuel that no end of the actuator moves: spilled, purged, from the secondaries. [kg/s]
        setting: what both ends share.
    """

    air: float
    target: float
    fuel: float
    extra: float
    setting: Setting


@register_jitable
def fuel_level(state: NDArray[np.float64], leak_share: float) -> float:
    """Level error with the engine running, a seat leak and wrong pressure included. [m]"""
    pressure = LEVEL_PER_PRESSURE * state[Field.FUEL_PRESSURE]
    level: float = state[Field.FUEL_LEVEL] + pressure + LEVEL_BAND * min(leak_share, 1.0)
    return level


@register_jitable
def missed_share(state: NDArray[np.float64], manifold_pressure: float) -> float:
    """Share of cycles that do not burn: those that misfire anyway, and those that recirculated exhaust puts out. [-]"""
    load = min(max((manifold_pressure - IDLE_LOAD) / (FULL_LOAD - IDLE_LOAD), 0.0), 1.0)
    borne = BORNE_AT_IDLE + load * (BORNE_AT_LOAD - BORNE_AT_IDLE)
    share: float = state[Field.MISFIRE] + MISSED_PER_SHARE * max(state[Field.EGR] - borne, 0.0)
    return share


@register_jitable
def false_air_share(p: Passages, state: NDArray[np.float64], exhaust: float) -> float:
    """Air that reaches the sensor past the cylinders, over an exhaust flow: leak and injected. [-]"""
    leak: float = state[Field.EXHAUST_LEAK] * p.idle_exhaust_flow / exhaust
    return leak + float(state[Field.INJECTED_AIR])


@register_jitable
def target_lambda(p: Passages, state: NDArray[np.float64], exhaust: float, manifold_pressure: float) -> float:
    """Lambda of the burned mixture at which the sensor reads stoichiometry. [-]

    Air that reaches the sensor past the cylinders makes it read lean, so the loop enriches by as much; a sensor
    that reads rich makes the loop lean.
    """
    past = false_air_share(p, state, exhaust) + missed_share(state, manifold_pressure)
    target: float = 1.0 - past + BIAS_LEVER * state[Field.SENSOR_BIAS]
    return max(target, 0.5)


@register_jitable
def holes_below(p: Passages, state: NDArray[np.float64]) -> float:
    """Area through which air reaches the manifold past the plates. [m²]"""
    ventilation = max(p.ventilation_area + state[Field.VENTILATION], 0.0)
    area: float = ventilation + state[Field.VACUUM_LEAK] + state[Field.PURGE]
    return area


@register_jitable
def demand_at(p: Passages, state: NDArray[np.float64], fuel: tuple[float, float], ratio: float,
              point: OperatingPoint, flux: float) -> Demand:  # fmt: skip
    """What a point asks of a car: air past the leaks, plates, slot, level, signal, fuel; `flux` is `hole_flux`."""
    ambient, temperature = state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE]
    total = swallowed_air(p, point, temperature) * (1.0 - min(max(state[Field.EGR], 0.0), 0.9))
    target = target_lambda(p, state, total * (1.0 + 1.0 / ratio), point.manifold_pressure)
    wanted = total / (ratio * target)
    metered = max(total - holes_below(p, state) * flux, 0.05 * total)
    behind = metered * secondary_air_share(p, metered / max(flux, 1e-9))
    through = (metered - behind) / p.barrels
    edge = plate_edge(p.throttle_bore, through, flux)
    slot = min(max(p.slot_at_idle + edge - p.idle_plate_edge, 0.0), p.slot_length)
    signal = p.boost_gain * venturi_depression(
        through, p.venturi_effective_area, 1.0, ambient, temperature, 1.4, AIR_GAS_CONSTANT
    )
    leak = state[Field.SEAT_LEAK] * p.idle_fuel_flow
    level = fuel_level(state, leak / wanted)
    extra = max(leak - wanted, 0.0) + PURGE_VAPOR * state[Field.PURGE] * flux
    extra += secondary_fuel(p, behind, level, fuel, ambient, temperature) * state[Field.MAIN_SCALE]
    return Demand(total, target, wanted, extra, Setting(through, slot, level, fuel[0], fuel[1], signal))
