"""A sheet's geometry as the network sees it: areas, lengths and heights in SI."""

from __future__ import annotations

from typing import NamedTuple

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


def passages_of(sheet: SpecSheet) -> Passages:
    """Passages of a unit; the idle stop of the throttle is the one that gives the sheet's idle air. [SI]"""
    from dwellwright.carburetor.air import idle_reference

    g, engine, coil = sheet.geometry, sheet.engine, sheet.solenoid
    settings = sheet.settings

    def area(name: str, discharge: float) -> float:
        return discharge * bore_area(float(getattr(g, name).si))

    bare = Passages(
        barrels=float(sheet.primary_barrels),
        venturi_effective_area=area("venturi_diameter", g.venturi_discharge.si),
        boost_gain=g.boost_gain.si,
        jet_diameter=g.jet_diameter.si,
        jet_length=g.jet_length.si,
        rod_at_lean=g.rod_diameter_at_lean_stop.si,
        rod_at_rich=g.rod_diameter_at_rich_stop.si,
        rod_travel=settings["rich_stop"].wanted.si - settings["lean_stop"].wanted.si,
        power_effective_area=area("power_jet_diameter", MIXTURE_DISCHARGE),
        power_opens=g.power_opens_below_vacuum.si,
        power_closes=g.power_closes_above_vacuum.si,
        nozzle_effective_area=area("nozzle_diameter", NOZZLE_DISCHARGE),
        nozzle_lift=g.nozzle_lift.si,
        main_bleed_effective_area=area("main_bleed_diameter", AIR_BLEED_DISCHARGE),
        tube_area=area("idle_tube_diameter", 1.0),
        tube_diameter=g.idle_tube_diameter.si,
        tube_length=g.idle_tube_length.si,
        idle_lift=g.idle_lift.si,
        fixed_bleed_effective_area=area("idle_fixed_bleed_diameter", AIR_BLEED_DISCHARGE),
        screw_bleed_effective_area=area("idle_adjustable_bleed_diameter", AIR_BLEED_DISCHARGE),
        screw_bleed_per_turn=g.idle_bleed_opening_per_turn.si,
        pulsed_bleed_effective_area=area("idle_pulsed_bleed_diameter", AIR_BLEED_DISCHARGE),
        channel_effective_area=area("idle_channel_diameter", MIXTURE_DISCHARGE),
        port_effective_area=area("idle_port_diameter", MIXTURE_DISCHARGE),
        needle_per_turn=g.idle_needle_opening_per_turn.si,
        throttle_bore=g.throttle_bore.si,
        slot_effective_width=SLOT_DISCHARGE * g.slot_width.si,
        slot_length=g.slot_length.si,
        slot_at_idle=g.slot_exposed_at_idle.si,
        swept_volume_per_turn=0.5 * engine.displacement.si,
        volumetric_efficiency=engine.volumetric_efficiency.si,
        ventilation_area=engine.crankcase_ventilation_area.si,
        idle_plate_edge=0.0,
        idle_exhaust_flow=1.0,
        idle_fuel_flow=1.0,
        solenoid_duty_shift=(coil.drop_out_time.si - coil.pull_in_time.si) * coil.pulse_rate.si,
    )
    return idle_reference(bare, sheet)
