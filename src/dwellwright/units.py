"""Units at the edges: files, forms, command line and JSON carry them, the inside is SI.

Factors are the exact definitions where one exists (inch 0.0254 m, pound-force by CGPM 1901) and the
conventional mercury column of NIST SP 811 appendix B.8 otherwise; tests hold them against Pint.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from dwellwright.errors import InputFault

SIX_CYLINDER_SCALE = 6
"""The dwell scale used where nobody says otherwise: 60 deg is 100 % duty (common practice, no source)."""


class Dimension(StrEnum):
    """What a unit measures; two units convert only within one dimension."""

    LENGTH = "length"
    VOLUME = "volume"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    TEMPERATURE_STEP = "temperature difference"
    VOLTAGE = "voltage"
    RESISTANCE = "resistance"
    TIME = "time"
    FREQUENCY = "frequency"
    SPEED = "speed"
    FLOW = "mass flow"
    FRACTION = "fraction"
    ANGLE = "angle"
    TURNS = "turns"
    AREA = "area"


@dataclass(frozen=True)
class Unit:
    """`si = value * factor + offset`."""

    dimension: Dimension
    factor: float
    offset: float = 0.0


_D = Dimension
UNITS: dict[str, Unit] = {
    "m": Unit(_D.LENGTH, 1.0), "mm": Unit(_D.LENGTH, 1e-3), "um": Unit(_D.LENGTH, 1e-6),
    "in": Unit(_D.LENGTH, 0.0254), "thou": Unit(_D.LENGTH, 0.0254e-3),
    "m2": Unit(_D.AREA, 1.0), "mm2": Unit(_D.AREA, 1e-6),
    "m3": Unit(_D.VOLUME, 1.0), "l": Unit(_D.VOLUME, 1e-3), "cc": Unit(_D.VOLUME, 1e-6),
    "Pa": Unit(_D.PRESSURE, 1.0), "kPa": Unit(_D.PRESSURE, 1e3), "bar": Unit(_D.PRESSURE, 1e5),
    "inHg": Unit(_D.PRESSURE, 3386.388640341), "psi": Unit(_D.PRESSURE, 6894.757293168),
    "K": Unit(_D.TEMPERATURE, 1.0), "degC": Unit(_D.TEMPERATURE, 1.0, 273.15),
    "degF": Unit(_D.TEMPERATURE, 5 / 9, 459.67 * 5 / 9), "delta_degC": Unit(_D.TEMPERATURE_STEP, 1.0),
    "V": Unit(_D.VOLTAGE, 1.0), "mV": Unit(_D.VOLTAGE, 1e-3), "ohm": Unit(_D.RESISTANCE, 1.0),
    "s": Unit(_D.TIME, 1.0), "ms": Unit(_D.TIME, 1e-3), "min": Unit(_D.TIME, 60.0),
    "Hz": Unit(_D.FREQUENCY, 1.0), "rpm": Unit(_D.FREQUENCY, 1 / 60),
    "m/s": Unit(_D.SPEED, 1.0), "km/h": Unit(_D.SPEED, 1 / 3.6), "mph": Unit(_D.SPEED, 0.44704),
    "kg/s": Unit(_D.FLOW, 1.0), "g/s": Unit(_D.FLOW, 1e-3), "lb/h": Unit(_D.FLOW, 0.45359237 / 3600),
    "1": Unit(_D.FRACTION, 1.0), "%": Unit(_D.FRACTION, 1e-2), "vol_pct": Unit(_D.FRACTION, 1e-2),
    "ppm": Unit(_D.FRACTION, 1e-6),
    "deg": Unit(_D.ANGLE, 1.0), "turns": Unit(_D.TURNS, 1.0),
}  # fmt: skip
"""Every unit an edge may use. Angles and turns stay in degrees and turns: they are shop readings."""


def known_unit(name: str, *, where: str = "") -> Unit:
    """The unit of that name.

    Raises:
        InputFault: no such unit; the message lists those there are.
    """
    try:
        return UNITS[name]
    except KeyError:
        raise InputFault("unknown unit", where=where, wanted=", ".join(UNITS), got=repr(name)) from None


def to_si(value: float, unit: str, *, where: str = "") -> float:
    """A shop value in SI.

    Raises:
        InputFault: unknown unit, or the value is not finite.

    >>> round(to_si(20.0, "inHg"), 1)
    67727.8
    """
    known = known_unit(unit, where=where)
    return _finite(value, unit, where) * known.factor + known.offset


def from_si(value: float, unit: str) -> float:
    """An SI value in a shop unit.

    Raises:
        InputFault: unknown unit.

    >>> round(from_si(0.00254, "thou"), 6)
    100.0
    """
    known = known_unit(unit)
    return (value - known.offset) / known.factor


def step_to_si(value: float, unit: str, *, where: str = "") -> float:
    """A shop difference or uncertainty in SI: scaled, without the offset of a temperature scale.

    Raises:
        InputFault: unknown unit, or the value is not finite.

    >>> step_to_si(9.0, "degF")
    5.0
    """
    known = known_unit(unit, where=where)
    return _finite(value, unit, where) * known.factor


def step_from_si(value: float, unit: str) -> float:
    """A difference or an uncertainty in a shop unit: scaled, without the offset of a temperature scale.

    Raises:
        InputFault: unknown unit.
    """
    return value / known_unit(unit).factor


def _finite(value: float, unit: str, where: str) -> float:
    if not isfinite(value):
        raise InputFault(
            "the value is not a finite number", where=where, wanted=f"a number in {unit}", got=str(value)
        )
    return value


def dwell_degrees(duty: float, cylinders: int = SIX_CYLINDER_SCALE) -> float:
    """Dwell on the scale of a meter set to that many cylinders. [deg]

    Raises:
        ValueError: the number of cylinders is not positive.

    >>> dwell_degrees(0.5)
    30.0
    """
    return duty * full_scale_dwell(cylinders)


def duty_of_dwell(degrees: float, cylinders: int = SIX_CYLINDER_SCALE) -> float:
    """Energized fraction that a meter set to that many cylinders shows as `degrees`. [-]

    Raises:
        ValueError: the number of cylinders is not positive.

    >>> duty_of_dwell(45.0, cylinders=8)
    1.0
    """
    return degrees / full_scale_dwell(cylinders)


def full_scale_dwell(cylinders: int = SIX_CYLINDER_SCALE) -> float:
    """What a meter set to that many cylinders shows at 100 % duty: one cylinder's share of a turn. [deg]

    Raises:
        ValueError: the number of cylinders is not positive.

    >>> full_scale_dwell(4)
    90.0
    """
    if cylinders <= 0:
        raise ValueError(f"cylinders must be positive, got {cylinders}")
    return 360.0 / cylinders
