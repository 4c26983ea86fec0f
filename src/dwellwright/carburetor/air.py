"""Air at an operating point: what the engine swallows, what passes the carburetor, where the plate stands."""

from __future__ import annotations

from math import cos, pi, sin, sqrt
from typing import NamedTuple

from dwellwright.carburetor.passages import CLOSED_PLATE_ANGLE, THROTTLE_DISCHARGE, Passages
from dwellwright.carburetor.state import WARM_AIR, CarState
from dwellwright.catalogue.fuels import ethanol_blend
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.compiled import register_jitable
from dwellwright.physics import gas_flow
from dwellwright.physics.gas_flow import AIR_GAS_CONSTANT

CHARGE_WARMING = 12.0
"""How much warmer the charge is in the manifold than at the air horn, assumed. [K]"""

compressible_flow = register_jitable(gas_flow.compressible_flow)


class OperatingPoint(NamedTuple):
    """A steady point of the warm engine.

    Args:
        engine_speed: revolutions per second. [1/s]
        manifold_pressure: absolute. [Pa]
        piston: where the power piston came from: 1 up (the vacuum rose to here), -1 down (it fell to here), 0 where
            nobody knows, halfway. [-]
    """

    engine_speed: float
    manifold_pressure: float
    piston: float = 0.0


@register_jitable
def swallowed_air(passages: Passages, point: OperatingPoint, air_temperature: float) -> float:
    """Charge the engine takes by speed and density. [kg/s]"""
    density = point.manifold_pressure / (AIR_GAS_CONSTANT * (air_temperature + CHARGE_WARMING))
    return passages.volumetric_efficiency * passages.swept_volume_per_turn * point.engine_speed * density


@register_jitable
def hole_flux(point: OperatingPoint, ambient_pressure: float, air_temperature: float) -> float:
    """Air drawn per area of a hole below the throttle, and through the throttle itself. [kg/(s m²)]"""
    return compressible_flow(1.0, THROTTLE_DISCHARGE, ambient_pressure, air_temperature, point.manifold_pressure,
                             1.4, AIR_GAS_CONSTANT)  # fmt: skip


@register_jitable
def plate_edge(bore: float, air: float, flux: float) -> float:
    """Height the plate's edge has moved along the bore from closed, for one barrel's air. [m]

    A flat plate in a round bore, shaft thickness neglected: open area = bore area * (1 - cos a / cos a0).

    Args:
        bore: of the throttle. [m]
        air: through it. [kg/s]
        flux: air per open area, `hole_flux`. [kg/(s m²)]
    """
    if flux <= 0.0:
        return bore
    closed = cos(CLOSED_PLATE_ANGLE)
    turned = min(max(closed * (1.0 - air / flux / (0.25 * pi * bore * bore)), 0.0), closed)
    return 0.5 * bore * (sqrt(1.0 - turned * turned) - sin(CLOSED_PLATE_ANGLE))


def operating_point(sheet: SpecSheet, name: str) -> OperatingPoint:
    """The sheet's operating point of that name: "idle", "3000" or "cruise"."""
    point = sheet.operating[name]  # type: ignore[index]
    return OperatingPoint(point.engine_speed.si, point.manifold_pressure.si)


def idle_reference(passages: Passages, sheet: SpecSheet) -> Passages:
    """The same passages with what the sheet's own idle fixes: plate edge, exhaust flow and fuel flow."""
    point, day = operating_point(sheet, "idle"), CarState()
    total = swallowed_air(passages, point, WARM_AIR)
    flux = hole_flux(point, day.ambient_pressure, WARM_AIR)
    other = passages.ventilation_area * flux
    through = (total - other) / passages.barrels
    if through <= 0:
        raise ValueError(
            f"at idle the engine takes {1e3 * total:.2f} g/s but the crankcase ventilation alone passes "
            f"{1e3 * other:.2f} g/s; correct engine.crankcase_ventilation_area or operating.idle"
        )
    fuel = total / ethanol_blend(0.0).stoichiometric_ratio
    edge = plate_edge(passages.throttle_bore, through, flux)
    return passages._replace(idle_plate_edge=edge, idle_exhaust_flow=total + fuel, idle_fuel_flow=fuel)
