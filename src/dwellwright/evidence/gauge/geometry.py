"""From what a gauge touches to what matters: plug to choke angle, float to fuel level, vacuum to pressure."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, atan2, cos, degrees, hypot, radians, sin

from dwellwright.errors import InputFault


@dataclass(frozen=True)
class ChokePlate:
    """A choke plate in a round bore, seen along its shaft.

    Args:
        bore: diameter of the air horn. [m]
        closed_angle: between the shut plate and square across the bore. [deg]
        offset: of the shaft from the bore's middle, away from the wall where the gap is measured. [m]
        thickness: of the plate at its edge; 0 for a beveled edge. [m]
    """

    bore: float
    closed_angle: float = 0.0
    offset: float = 0.0
    thickness: float = 0.0

    def __post_init__(self) -> None:
        if not self.bore > 0 or not 0 <= self.closed_angle < 60 or self.thickness < 0:
            raise ValueError(f"a plate needs bore > 0, angle 0 to 60 deg, thickness >= 0, got {self}")
        if not -self.bore / 2 < self.offset < self.bore / 2 or self.half_length <= 0:
            raise ValueError(f"the shaft must lie inside the bore, got an offset of {self.offset} m")
        if radians(self.closed_angle) < atan2(self.thickness / 2, self.half_length) - 1e-12:
            raise ValueError(
                "a square-edged plate would jam in the bore: for a beveled edge give no thickness"
            )

    @property
    def wall(self) -> float:
        """From the shaft to the wall on the measured side. [m]"""
        return self.bore / 2 + self.offset

    @property
    def half_length(self) -> float:
        """From the shaft to the plate's edge on the measured side, so that the shut plate touches. [m]"""
        closed = radians(self.closed_angle)
        return (self.wall - self.thickness / 2 * sin(closed)) / cos(closed)


def choke_angle(plug: float, plate: ChokePlate) -> float:
    """Opening of the plate from shut, with a plug upright between its edge and the wall. [deg]

    The nearer corner of the edge touches the plug; the plug's line of contact with the wall is taken at the
    plate's farthest point, where the wall is square to it.

    Args:
        plug: diameter that just passes. [m]
        plate: the plate and its bore.

    Raises:
        InputFault: the plug is negative or wider than the gap can get.

    >>> round(choke_angle(4.0e-3, ChokePlate(bore=40e-3)), 3)  # acos(16/20)
    36.87
    """
    corner = hypot(plate.half_length, plate.thickness / 2)
    lean = atan2(plate.thickness / 2, plate.half_length)
    open_gap = plate.wall - plate.thickness / 2
    if not 0 <= plug <= open_gap:
        raise InputFault(
            "the plug does not fit between plate and wall",
            wanted=f"0 to {open_gap * 1e3:.2f} mm",
            got=f"{plug * 1e3:g} mm",
        )
    return degrees(lean + acos(min(1.0, (plate.wall - plug) / corner))) - plate.closed_angle


def choke_gap(angle: float, plate: ChokePlate) -> float:
    """Plug that just passes at an opening from shut. [m]

    Args:
        angle: from shut. [deg]
        plate: the plate and its bore.

    Raises:
        InputFault: the angle is beyond wide open.

    >>> round(choke_gap(36.8699, ChokePlate(bore=40e-3)) * 1e3, 3)
    4.0
    """
    whole = angle + plate.closed_angle
    if not angle >= 0 or whole > 90:
        raise InputFault(
            "the choke cannot open so far",
            wanted=f"0 to {90 - plate.closed_angle:g} deg from shut",
            got=f"{angle:g} deg",
        )
    turned = radians(whole)
    return plate.wall - plate.half_length * cos(turned) - plate.thickness / 2 * sin(turned)


@dataclass(frozen=True)
class FloatLever:
    """A hinged float and where its height is gauged.

    Args:
        float_arm: from the hinge to the middle of the float. [m]
        gauge_arm: from the hinge to where the height is gauged. [m]
        angle: of the arm below level when the needle shuts. [deg]
        height_lowers_level: True if a larger gauged height hangs the float lower (height gauged on the
            inverted cover from gasket to the float's bottom), False if it holds it higher.
    """

    float_arm: float
    gauge_arm: float
    angle: float = 0.0
    height_lowers_level: bool = True

    def __post_init__(self) -> None:
        if not (self.float_arm > 0 and self.gauge_arm > 0) or not -60 <= self.angle <= 60:
            raise ValueError(f"a float lever needs positive arms and an angle within 60 deg, got {self}")


def _swung(rise: float, arm: float, other: float, angle: float) -> float:
    """Rise at `other` when the point at `arm` rises by `rise`, the lever starting at `angle` below level."""
    start = -radians(angle)
    sine = sin(start) + rise / arm
    if not -1 <= sine <= 1:
        raise InputFault(
            "the float cannot swing so far", wanted=f"within {arm * 1e3:.1f} mm", got=f"{rise * 1e3:.1f} mm"
        )
    return other * (sine - sin(start))


def level_change(height_change: float, lever: FloatLever) -> float:
    """Rise of the fuel level (positive: richer) when the gauged float height grows. [m]

    The float floats equally deep as before: the needle's load is taken as unchanged.

    Args:
        height_change: new height minus old. [m]
        lever: the float.

    Raises:
        InputFault: more than the lever can swing.

    >>> lever = FloatLever(float_arm=30e-3, gauge_arm=60e-3)
    >>> round(level_change(2e-3, lever) * 1e3, 6)
    -1.0
    """
    sign = -1.0 if lever.height_lowers_level else 1.0
    return _swung(sign * height_change, lever.gauge_arm, lever.float_arm, lever.angle)


def height_change(level_rise: float, lever: FloatLever) -> float:
    """Change of the gauged float height that raises the fuel by `level_rise`. [m]"""
    sign = -1.0 if lever.height_lowers_level else 1.0
    return sign * _swung(level_rise, lever.float_arm, lever.gauge_arm, lever.angle)


def depth_below_rim(level_rise: float, depth: float) -> float:
    """Reading of a float gauge, a depth below the rim, after the fuel rose: a higher level reads less. [m]"""
    return depth - level_rise


def manifold_absolute_pressure(vacuum: float, barometer: float) -> float:
    """Absolute pressure behind a vacuum gauge. [Pa]

    Args:
        vacuum: below the atmosphere. [Pa]
        barometer: absolute. [Pa]

    Raises:
        InputFault: more vacuum than there is atmosphere.
    """
    if not vacuum + 5e3 > 0 or vacuum >= barometer:
        raise InputFault(
            "the vacuum cannot be right at this barometer",
            wanted=f"0 to {barometer / 1e3:.1f} kPa",
            got=f"{vacuum / 1e3:.1f} kPa",
        )
    return barometer - vacuum
