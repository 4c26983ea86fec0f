"""A paper flowchart: from dwell to the order in which causes are looked for. Common practice, no source."""

from __future__ import annotations

from collections.abc import Sequence

from dwellwright.evidence.observation import Measured, Observation

RICH, LEAN = 38.0, 22.0
"""Dwell beyond which the loop takes fuel away, or gives it. [deg]"""
DEAD = ("solenoid_dead", "rods_stuck_rich", "rods_stuck_lean", "rod_travel")
SENSOR = ("sensor_cold", "sensor_slow", "coolant_sensor", "throttle_sensor", "sensor_bias")
FAST_RICH = (
    "float_level",
    "rich_stop",
    "lean_stop",
    "power_piston",
    "main_bleed_blocked",
    "main_jet",
    "altitude",
)
IDLE_RICH = ("purge", "idle_needle", "idle_bleed", "idle_bleed_blocked", "seat_leak", "ventilation")
IDLE_LEAN = ("vacuum_leak", "ventilation", "idle_needle", "idle_bleed", "idle_channel_blocked", "misfire")
ALL_RICH = ("float_level", "seat_leak", "fuel_pressure", "lean_stop", "rich_stop", "purge")
ALL_LEAN = (
    "exhaust_leak",
    "injected_air",
    "fuel_pressure",
    "lean_stop",
    "float_level",
    "ethanol",
    "main_jet",
)


GAUGED = {
    Measured.LEAN_STOP: (1.0e-4, ("lean_stop",)), Measured.RICH_STOP: (1.3e-4, ("rich_stop",)),
    Measured.FLOAT_LEVEL: (0.8e-3, ("float_level",)), Measured.IDLE_NEEDLE: (0.3, ("idle_needle",)),
    Measured.IDLE_BLEED: (0.3, ("idle_bleed",)), Measured.FUEL_PRESSURE: (5e3, ("fuel_pressure",)),
    Measured.THROTTLE_SENSOR_CLOSED: (0.06, ("throttle_sensor",)),
}  # fmt: skip
"""How far off its figure a gauge reading may be before the paper says to mend that first."""
HIGH_HYDROCARBON, HIGH_OXYGEN, STILL = 600e-6, 0.02, 20.0 / 60.0
"""Unburned fuel that means misfire, oxygen that means air in the exhaust, change of speed that is none. [1/s]"""
COLD_COOLANT, HOT_COOLANT, HALF_CLOSED = 350.0, 370.0, 0.5


def marked(seen: Sequence[Observation]) -> list[str]:
    """Causes that a single reading points to, before any dwell is looked at."""
    order: list[str] = []
    for one in seen:
        if one.measured in GAUGED and one.wanted is not None:
            allowed, causes = GAUGED[one.measured]
            order += causes if abs(one.value - one.wanted) > allowed else ()
        if one.measured is Measured.HC and one.value > HIGH_HYDROCARBON:
            order.append("misfire")
        if one.measured is Measured.O2 and one.value > HIGH_OXYGEN:
            order += ["exhaust_leak", "injected_air"]
        if one.measured is Measured.RESPONSE_DRIVER_LEAD_GROUNDED and abs(one.value) < STILL:
            order += DEAD
        if one.measured is Measured.COOLANT_TEMPERATURE and not COLD_COOLANT < one.value < HOT_COOLANT:
            order.append("coolant_sensor")
        if one.measured is Measured.CLOSED_LOOP_SHARE and one.value < HALF_CLOSED:
            order += ["coolant_sensor", "sensor_cold"]
    return list(dict.fromkeys(order))


def flowchart(
    idle: float, fast: float, cruise: float, period: float, seen: Sequence[Observation] = ()
) -> list[str]:
    """Causes in the order that the paper says to look for them; empty where it says all is well.

    Args:
        idle, fast, cruise: dwell. [deg]
        period: of the limit cycle at idle. [s]
        seen: all that was read.
    """
    order = marked(seen)
    if period > 2.6:
        order += ["sensor_slow", "sensor_cold"]
    if idle > RICH and fast > RICH:
        order += ALL_RICH
    elif idle < LEAN and fast < LEAN:
        order += ALL_LEAN
    elif idle > RICH:
        order += IDLE_RICH
    elif idle < LEAN:
        order += IDLE_LEAN
    elif fast > RICH or cruise > RICH:
        order += FAST_RICH
    elif fast < LEAN or cruise < LEAN:
        order += ("float_level", "fuel_pressure", "lean_stop", "rich_stop", "main_jet")
    if not order:
        return []
    rest = (*SENSOR, *DEAD, *IDLE_RICH, *IDLE_LEAN, *FAST_RICH, *ALL_LEAN)
    return list(dict.fromkeys((*order, *rest)))
