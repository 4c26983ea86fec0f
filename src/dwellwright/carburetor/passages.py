"""A sheet's geometry as the network sees it: areas, lengths and heights in SI."""

from __future__ import annotations

from typing import NamedTuple

from dwellwright.carburetor.actuator import ENDS, flat
from dwellwright.catalogue.quantity import Quantity
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.physics.liquid_flow import bore_area

AIR_BLEED_DISCHARGE = 0.70
"""Discharge of a short air bleed or slot, assumed. [-]"""
MIXTURE_DISCHARGE = 0.75
"""Discharge of a passage that carries air and fuel together, assumed. [-]"""
NOZZLE_DISCHARGE = 0.80
"""Discharge of the main nozzle, assumed. [-]"""
SLOT_DISCHARGE = 0.60
"""Discharge of the transfer slot, a sharp narrow slit, assumed. [-]"""
THROTTLE_DISCHARGE = 0.80
"""Discharge of the throttle and of holes below it, assumed. [-]"""
CLOSED_PLATE_ANGLE = 0.17453
"""Angle of the closed throttle plate from the plane across the bore, 10 deg, assumed. [rad]"""
POWER_FRICTION = 1.5e3
"""Vacuum by which a power piston lags either way where the sheet gives no hysteresis, assumed. [Pa]"""

SIZES = {
    "boost_gain": "boost_gain",
    "jet_diameter": "jet_diameter",
    "jet_length": "jet_length",
    "rod_at_lean": "rod_diameter_at_lean_stop",
    "rod_at_rich": "rod_diameter_at_rich_stop",
    "power_opens": "power_opens_below_vacuum",
    "power_closes": "power_closes_above_vacuum",
    "nozzle_lift": "nozzle_lift",
    "tube_diameter": "idle_tube_diameter",
    "tube_length": "idle_tube_length",
    "idle_lift": "idle_lift",
    "screw_bleed_per_turn": "idle_bleed_opening_per_turn",
    "needle_per_turn": "idle_needle_opening_per_turn",
    "throttle_bore": "throttle_bore",
    "slot_length": "slot_length",
    "slot_at_idle": "slot_exposed_at_idle",
    "diaphragm_starts": "diaphragm_starts_at_vacuum",
    "diaphragm_ends": "diaphragm_ends_at_vacuum",
    "regulated_vacuum": "regulated_vacuum",
    "secondary_bore": "secondary_throttle_bore",
    "secondary_jet_diameter": "secondary_jet_diameter",
    "secondary_starts": "secondary_starts_at_primary_travel",
}
"""Passages taken from the sheet as they stand."""
AREAS = {
    "power_effective_area": ("power_jet_diameter", MIXTURE_DISCHARGE),
    "nozzle_effective_area": ("nozzle_diameter", NOZZLE_DISCHARGE),
    "main_bleed_effective_area": ("main_bleed_diameter", AIR_BLEED_DISCHARGE),
    "fixed_bleed_effective_area": ("idle_fixed_bleed_diameter", AIR_BLEED_DISCHARGE),
    "screw_bleed_effective_area": ("idle_adjustable_bleed_diameter", AIR_BLEED_DISCHARGE),
    "pulsed_bleed_effective_area": ("idle_pulsed_bleed_diameter", AIR_BLEED_DISCHARGE),
    "main_pulsed_bleed_effective_area": ("main_pulsed_bleed_diameter", AIR_BLEED_DISCHARGE),
    "auxiliary_effective_area": ("auxiliary_fuel_diameter", MIXTURE_DISCHARGE),
    "channel_effective_area": ("idle_channel_diameter", MIXTURE_DISCHARGE),
    "port_effective_area": ("idle_port_diameter", MIXTURE_DISCHARGE),
}
"""Bores on the sheet and the discharge that makes each an effective area."""


class Passages(NamedTuple):
    """One primary barrel's passages (effective area = area times discharge) and what the engine swallows."""

    barrels: float
    venturi_effective_area: float
    boost_gain: float
    jet_diameter: float
    jet_length: float
    rod_at_lean: float
    rod_at_rich: float
    rod_travel: float
    power_effective_area: float
    power_opens: float
    power_closes: float
    nozzle_effective_area: float
    nozzle_lift: float
    main_bleed_effective_area: float
    tube_area: float
    tube_diameter: float
    tube_length: float
    idle_lift: float
    fixed_bleed_effective_area: float
    screw_bleed_effective_area: float
    screw_bleed_per_turn: float
    pulsed_bleed_effective_area: float
    main_pulsed_bleed_effective_area: float
    auxiliary_effective_area: float
    diaphragm_starts: float
    diaphragm_ends: float
    regulated_vacuum: float
    channel_effective_area: float
    port_effective_area: float
    needle_per_turn: float
    throttle_bore: float
    slot_effective_width: float
    slot_length: float
    slot_at_idle: float
    swept_volume_per_turn: float
    volumetric_efficiency: float
    ventilation_area: float
    idle_plate_edge: float
    idle_exhaust_flow: float
    idle_fuel_flow: float
    solenoid_duty_shift: float
    energized_is_lean: float
    rich_rods: float
    rich_idle_bleed: float
    rich_main_bleed: float
    rich_auxiliary: float
    lean_rods: float
    lean_idle_bleed: float
    lean_main_bleed: float
    lean_auxiliary: float
    positional: float
    power_friction: float
    secondary_barrels: float
    secondary_bore: float
    secondary_venturi_effective_area: float
    secondary_jet_diameter: float
    secondary_starts: float


def size_of(sheet: SpecSheet, name: str) -> float:
    """A size of the geometry in SI; 0 for a passage this unit does not have."""
    quantity: Quantity | None = getattr(sheet.geometry, name)
    return quantity.si if quantity is not None else 0.0


def passages_of(sheet: SpecSheet) -> Passages:
    """Passages of a unit; the idle stop of the throttle is the one that gives the sheet's idle air. [SI]"""
    from dwellwright.carburetor.air import idle_reference

    settings, engine, coil = sheet.settings, sheet.engine, sheet.solenoid
    bare = Passages(
        barrels=float(sheet.primary_barrels),
        rod_travel=settings["rich_stop"].wanted.si - settings["lean_stop"].wanted.si,
        swept_volume_per_turn=0.5 * engine.displacement.si,
        volumetric_efficiency=engine.volumetric_efficiency.si,
        ventilation_area=engine.crankcase_ventilation_area.si,
        idle_plate_edge=0.0,
        idle_exhaust_flow=1.0,
        idle_fuel_flow=1.0,
        solenoid_duty_shift=(coil.drop_out_time.si - coil.pull_in_time.si) * coil.pulse_rate.si,
        energized_is_lean=1.0 if coil.energized == "lean" else 0.0,
        **flat(ENDS[coil.actuator]),
        slot_effective_width=SLOT_DISCHARGE * sheet.geometry.slot_width.si,
        tube_area=bore_area(sheet.geometry.idle_tube_diameter.si),
        **{name: size_of(sheet, source) for name, source in SIZES.items()},
        **{name: share * bore_area(size_of(sheet, source)) for name, (source, share) in AREAS.items()},
        venturi_effective_area=sheet.geometry.venturi_discharge.si
        * bore_area(sheet.geometry.venturi_diameter.si),
        power_friction=0.5 * size_of(sheet, "power_hysteresis") or POWER_FRICTION,
        secondary_barrels=float(sheet.secondary_barrels if sheet.geometry.secondary_throttle_bore else 0),
        secondary_venturi_effective_area=sheet.geometry.venturi_discharge.si
        * bore_area(size_of(sheet, "secondary_venturi_diameter")),
    )
    return idle_reference(bare, sheet)
