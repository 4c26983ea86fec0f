"""Sums at the bench: plug to choke angle and back, float height to fuel level, turns to travel, units."""

from __future__ import annotations

from math import isfinite

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.geometry import (
    ChokePlate,
    FloatLever,
    choke_angle,
    choke_gap,
    height_change,
    level_change,
    manifold_absolute_pressure,
)
from dwellwright.evidence.gauge.turns import thread_of, travel_of_turns
from dwellwright.units import Dimension, from_si, known_unit, to_si

Length = tuple[float, str]
"""A number and its unit."""


def length(size: Length, where: str) -> float:
    """A length with its unit. [m]

    Raises:
        InputFault: the unit is none of length, or the number is not finite.
    """
    if known_unit(size[1], where=where).dimension is not Dimension.LENGTH:
        raise InputFault("the unit measures no length", where=where, got=size[1], wanted="mm, thou or in")
    return to_si(*size, where=where)


def choke_plate(bore: Length, closed: float, offset: Length, thickness: Length) -> ChokePlate:
    """A choke plate, checked.

    Args:
        bore: diameter of the air horn.
        closed: between the shut plate and square across. [deg]
        offset: of the shaft from the middle, away from the measured wall.
        thickness: at the plate's edge; 0 for a beveled one.

    Raises:
        InputFault: a plate that cannot be.
    """
    if not isfinite(closed):
        raise InputFault("the angle is not a finite number", where="shut angle", got=str(closed))
    try:
        return ChokePlate(
            length(bore, "bore"), closed, length(offset, "offset"), length(thickness, "thickness")
        )
    except InputFault:
        raise
    except ValueError as fault:
        raise InputFault("this is no choke plate", where="choke", got=str(fault)) from None


def angle_of_plug(plug: Length, plate: ChokePlate) -> float:
    """Opening of the plate from shut with a plug between edge and wall. [deg]

    Raises:
        InputFault: the plug does not fit.
    """
    return choke_angle(length(plug, "plug"), plate)


def plug_of_angle(angle: float, plate: ChokePlate, unit: str) -> float:
    """Plug that just passes at an opening from shut. [unit]

    Raises:
        InputFault: the plate cannot open so far.
    """
    if not isfinite(angle):
        raise InputFault("the angle is not a finite number", where="angle", got=str(angle))
    return from_si(choke_gap(angle, plate), unit)


def float_lever(float_arm: Length, gauge_arm: Length, angle: float, *, higher_is_richer: bool) -> FloatLever:
    """A float's lever, checked.

    Raises:
        InputFault: a lever that cannot be.
    """
    try:
        return FloatLever(
            length(float_arm, "float arm"), length(gauge_arm, "gauge arm"), angle, not higher_is_richer
        )
    except InputFault:
        raise
    except ValueError as fault:
        raise InputFault("this is no float lever", where="float", got=str(fault)) from None


def level_of_height(change: Length, lever: FloatLever) -> float:
    """Rise of the fuel when the gauged height grows by `change`. [unit of the change]

    Raises:
        InputFault: more than the lever can swing.
    """
    return from_si(level_change(length(change, "change of height"), lever), change[1])


def height_of_level(rise: Length, lever: FloatLever) -> float:
    """Change of the gauged height that raises the fuel by `rise`. [unit of the rise]

    Raises:
        InputFault: more than the lever can swing.
    """
    return from_si(height_change(length(rise, "rise of the fuel"), lever), rise[1])


def travel_of(turns: float, thread: str, unit: str) -> float:
    """Travel of a screw. [unit]

    Raises:
        InputFault: no such thread or unit.
    """
    if not isfinite(turns):
        raise InputFault("the turns are not a finite number", where="turns", got=str(turns))
    _refuse_other(unit, Dimension.LENGTH)
    return from_si(travel_of_turns(turns, thread_of(thread)), unit)


def turns_of_travel(travel: Length, thread: str) -> float:
    """Turns that make a travel. [turns]

    Raises:
        InputFault: no such thread or unit.

    >>> round(turns_of_travel((0.118, "in"), "10-32"), 3)  # 0.118 * 32
    3.776
    """
    return length(travel, "travel") / thread_of(thread).pitch


def absolute_of_vacuum(vacuum: float, unit: str, barometer: float, barometer_unit: str) -> float:
    """Absolute pressure of a manifold from its vacuum. [unit of the vacuum]

    Raises:
        InputFault: a unit that is none of pressure, or more vacuum than atmosphere.
    """
    _refuse_other(unit, Dimension.PRESSURE)
    _refuse_other(barometer_unit, Dimension.PRESSURE)
    below, around = to_si(vacuum, unit, where="vacuum"), to_si(barometer, barometer_unit, where="barometer")
    return from_si(manifold_absolute_pressure(below, around), unit)


def converted(value: float, unit: str, other: str) -> float:
    """A value in another unit. [other]

    Raises:
        InputFault: no such unit, or the two measure different things.

    >>> round(converted(20.0, "inHg", "kPa"), 3)
    67.728
    """
    _refuse_other(other, known_unit(unit, where="unit").dimension)
    return from_si(to_si(value, unit, where="value"), other)


def _refuse_other(unit: str, dimension: Dimension) -> None:
    if known_unit(unit, where="unit").dimension is not dimension:
        raise InputFault("the unit does not measure this", got=unit, wanted=f"a unit of {dimension.value}")
