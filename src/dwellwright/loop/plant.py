"""What the controller is wrapped round: solenoid, wall film, passage of the gas, oxygen sensor, a leak before it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from dwellwright.loop.solenoid import Solenoid
from dwellwright.physics.checks import require_fraction, require_not_negative, require_positive
from dwellwright.physics.switching import TYPICAL_WIDTH, switching_curve
from dwellwright.physics.wall_film import WallFilm
from dwellwright.physics.zirconia import REFERENCE_RESISTANCE, TEMPERATURE_RANGE

CURVE_STEP = 25.0
"""Temperature spacing of the tabulated switching curves, straight between them. [K]"""


@dataclass(frozen=True)
class OxygenSensor:
    """A zirconia sensor as the loop sees it.

    Args:
        lean_to_rich_time: time constant of the rise. [s]
        rich_to_lean_time: time constant of the fall. [s]
        excess_shift: excess fuel seen that is not there; poisoning shifts the switch. [-]
        voltage_bias: added to the open-circuit voltage. [V]
        reference_resistance: of the element at 623.15 K. [ohm]
        switch_width: half width of the switch. [-]
    """

    lean_to_rich_time: float = 0.06
    rich_to_lean_time: float = 0.09
    excess_shift: float = 0.0
    voltage_bias: float = 0.0
    reference_resistance: float = REFERENCE_RESISTANCE
    switch_width: float = TYPICAL_WIDTH

    def __post_init__(self) -> None:
        require_not_negative("lean to rich time", self.lean_to_rich_time, "s")
        require_not_negative("rich to lean time", self.rich_to_lean_time, "s")
        require_positive("reference resistance", self.reference_resistance, "ohm")
        require_positive("switch width", self.switch_width, "")


@dataclass(frozen=True)
class Passage:
    """The way of the mixture from the carburetor to the sensor.

    A share of the way mixes and acts as a lag, the rest is a plug and acts as a delay; the mean time is the same.

    Args:
        manifold_volume: carburetor to intake valves. [m³]
        manifold_temperature: of the mixture. [K]
        exhaust_volume: exhaust valves to sensor. [m³]
        exhaust_temperature: mean over that way. [K]
        exhaust_pressure: absolute. [Pa]
        mixing_share: of the two volumes' passage time. [-]
        longest_delay: the delay at a standstill, and nowhere more. [s]
    """

    manifold_volume: float = 0.003
    manifold_temperature: float = 320.0
    exhaust_volume: float = 0.004
    exhaust_temperature: float = 800.0
    exhaust_pressure: float = 101325.0
    mixing_share: float = 0.35
    longest_delay: float = 3.0

    def __post_init__(self) -> None:
        for name in ("manifold_temperature", "exhaust_temperature", "exhaust_pressure", "longest_delay"):
            require_positive(name.replace("_", " "), getattr(self, name), "")
        require_not_negative("manifold volume", self.manifold_volume, "m³")
        require_not_negative("exhaust volume", self.exhaust_volume, "m³")
        require_fraction("mixing share", self.mixing_share)


@dataclass(frozen=True)
class Plant:
    """Everything in the loop but the controller and the carburetor's map.

    Args:
        sensor: the oxygen sensor.
        solenoid: the mixture-control solenoid.
        passage: from carburetor to sensor.
        warm_film: wall film with the coolant at `warm_coolant` or above.
        cold_film: wall film with the coolant at `cold_coolant` or below; straight between.
        warm_coolant: [K]
        cold_coolant: [K]
        well_time: time constant of the fuel in wells and channels between valve and nozzle; assumed. [s]
        false_air_flow: drawn into the exhaust before the sensor. [kg/s]
        hydrogen_to_carbon: atoms in the fuel. [-]
        oxygen_to_carbon: atoms in the fuel. [-]
    """

    sensor: OxygenSensor = field(default_factory=OxygenSensor)
    solenoid: Solenoid = field(default_factory=Solenoid)
    passage: Passage = field(default_factory=Passage)
    warm_film: WallFilm = field(default_factory=lambda: WallFilm(0.3, 0.6))
    cold_film: WallFilm = field(default_factory=lambda: WallFilm(0.6, 2.5))
    warm_coolant: float = 353.15
    cold_coolant: float = 273.15
    well_time: float = 0.12
    false_air_flow: float = 0.0
    hydrogen_to_carbon: float = 1.85
    oxygen_to_carbon: float = 0.0

    def __post_init__(self) -> None:
        require_not_negative("well time", self.well_time, "s")
        require_not_negative("false air flow", self.false_air_flow, "kg/s")
        if not self.cold_coolant < self.warm_coolant:
            raise ValueError(
                f"cold coolant must lie below warm coolant, got {self.cold_coolant} and {self.warm_coolant} K"
            )


@cache
def curve_table(
    hydrogen_to_carbon: float, oxygen_to_carbon: float, width: float
) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    """Temperatures, and the switching curve's six coefficients at each, for one fuel."""
    low, high = TEMPERATURE_RANGE
    temperatures = np.arange(low, high + CURVE_STEP, CURVE_STEP)
    curves = [switching_curve(hydrogen_to_carbon, oxygen_to_carbon, float(t), width) for t in temperatures]
    columns = [
        (c.rich_level, c.rich_rise, c.rich_offset, c.lean_level, c.lean_rise, c.lean_offset) for c in curves
    ]
    return temperatures, np.array(columns)
