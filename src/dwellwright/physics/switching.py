"""Fast sensor curve for simulation: one square root and three divisions, pinned to the Nernst voltage."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from dwellwright.physics.zirconia import sensor_voltage

PINS = (0.006, 0.03, 0.12)
"""Distances from lambda 1 at which the curve meets the Nernst voltage. [-]"""
TYPICAL_WIDTH = 1.0e-3
"""Half width of the switch: gas is never quite uniform; assumed. [-]"""
CURVE_ERROR = 0.011
"""Largest error against `zirconia.sensor_voltage` from lambda 0.85 to 1.15 but for 1 +- 0.004,
at 700 to 1100 K and typical width. [V]"""


@dataclass(frozen=True)
class SwitchingCurve:
    """Coefficients of `switching_voltage` for one fuel and sensor temperature.

    Args:
        rich_level, lean_level: far from lambda 1. [V]
        rich_rise, lean_rise: voltage times distance. [V]
        rich_offset, lean_offset: distance at which the rise has fallen to half. [-]
        width: half width of the switch. [-]
    """

    rich_level: float
    rich_rise: float
    rich_offset: float
    lean_level: float
    lean_rise: float
    lean_offset: float
    width: float

    def voltage(self, lambda_: float, bias: float = 0.0) -> float:
        """Open-circuit voltage. [V]"""
        return switching_voltage(
            lambda_,
            self.rich_level,
            self.rich_rise,
            self.rich_offset,
            self.lean_level,
            self.lean_rise,
            self.lean_offset,
            self.width,
            bias,
        )


def switching_voltage(
    lambda_: float,
    rich_level: float,
    rich_rise: float,
    rich_offset: float,
    lean_level: float,
    lean_rise: float,
    lean_offset: float,
    width: float,
    bias: float,
) -> float:
    """Open-circuit voltage of a hot sensor, without transcendental functions. [V]

    Args:
        lambda_: of the gas at the sensor. [-]
        rich_level: [V]
        rich_rise: negative: the voltage falls toward lambda 1. [V]
        rich_offset: [-]
        lean_level: [V]
        lean_rise: positive: the voltage grows toward lambda 1. [V]
        lean_offset: [-]
        width: half width of the switch, above zero. [-]
        bias: added to the voltage by a poisoned or contaminated element. [V]
    """
    lean = lambda_ - 1.0
    distance = sqrt(lean * lean + width * width)
    on_rich = rich_level + rich_rise / (distance + rich_offset)
    on_lean = lean_level + lean_rise / (distance + lean_offset)
    return bias + 0.5 * (on_rich + on_lean) - 0.5 * (on_rich - on_lean) * lean / distance


def switching_curve(
    hydrogen_to_carbon: float, oxygen_to_carbon: float, temperature: float, width: float = TYPICAL_WIDTH
) -> SwitchingCurve:
    """Curve pinned to the Nernst voltage of that fuel at that sensor temperature.

    Args:
        hydrogen_to_carbon: atoms in the fuel. [-]
        oxygen_to_carbon: atoms in the fuel. [-]
        temperature: of the sensor. [K]
        width: half width of the switch. [-]

    Raises:
        ValueError: width not between 0 and the first pin.
    """
    if not 0.0 < width < PINS[0]:
        raise ValueError(f"width of the switch must lie between 0 and {PINS[0]}, got {width}")
    sides = []
    for side in (-1.0, 1.0):
        voltages = [
            sensor_voltage(1.0 + side * pin, hydrogen_to_carbon, oxygen_to_carbon, temperature)
            for pin in PINS
        ]
        sides.append(_pinned(voltages))
    return SwitchingCurve(*sides[0], *sides[1], width)


def _pinned(voltages: list[float]) -> tuple[float, float, float]:
    """Level, rise and offset of `level + rise / (distance + offset)` through three points."""
    near, middle, far = PINS
    first, second, third = voltages
    ratio = (first - second) / (second - third) * (far - middle) / (middle - near)  # = (far + o) / (near + o)
    offset = (far - ratio * near) / (ratio - 1.0)
    rise = (first - second) / (1.0 / (near + offset) - 1.0 / (middle + offset))
    return first - rise / (near + offset), rise, offset
