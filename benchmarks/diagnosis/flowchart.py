"""A paper flowchart: from dwell to the order in which causes are looked for. Common practice, no source."""

from __future__ import annotations

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


def flowchart(idle: float, fast: float, cruise: float, period: float) -> list[str]:
    """Causes in the order that the paper says to look for them; empty where it says all is well.

    Args:
        idle, fast, cruise: dwell. [deg]
        period: of the limit cycle at idle. [s]
    """
    order: list[str] = []
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
