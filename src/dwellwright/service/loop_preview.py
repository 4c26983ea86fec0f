"""What if, over the whole range: dwell along two lines of operating points, and the closed loop in time at one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint, operating_point
from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.prediction import DUTY_LIMITS
from dwellwright.carburetor.state import CarState, packed
from dwellwright.carburetor.steady import COLUMN, steady_batch
from dwellwright.catalogue.controllers import Controller, catalogue_controllers
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault
from dwellwright.loop.drive import steady_drive
from dwellwright.loop.mixture import MixtureMap
from dwellwright.loop.plant import OxygenSensor, Plant
from dwellwright.loop.simulation import simulate
from dwellwright.service.prediction import changed_state
from dwellwright.units import dwell_degrees, from_si

POINTS = 25
"""Operating points along each line: the curves bend slowly, so that more would draw the same."""

LIGHTEST, FULLEST = 40e3, 80e3
"""Manifold pressures between which the load line runs: beyond them such units enrich or cut off. Assumed. [Pa]"""

SPEEDS = (0.7, 1.5)
"""Ends of the speed line, over the speed of the sheet's cruise. Assumed."""

SETTLING, SHOWN, ROWS = 25.0, 12.0, 20.0
"""Time the loop is given to settle, and time that is shown [s], with so many rows a second [Hz]."""

STAND_IN = "generic-pulsed"
"""Invented controller that stands in for the car's own, whose numbers the sheet does not hold."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DwellLine:
    """Dwell along a line of operating points.

    Args:
        title: what is held and what moves.
        label: of the axis, with its unit.
        at: where on the axis. [unit of the label]
        base: dwell on the sheet. [deg]
        moved: dwell with the changes. [deg]
    """

    title: str
    label: str
    at: Floats
    base: Floats
    moved: Floats


@dataclass(frozen=True)
class LoopStretch:
    """The closed loop in time at one operating point: seconds, dwell [deg], sensor [V]."""

    point: str
    time: Floats
    dwell: Floats
    sensor: Floats
    controller: str


def dwell_lines(sheet: SpecSheet, changes: Sequence[str]) -> tuple[DwellLine, DwellLine]:
    """Dwell at cruise load over engine speed, and at cruise speed over load.

    Both lines pass through the sheet's own cruise. The range between idle and the main circuit's start is left out:
    there the transfer slot decides, and no sheet gives a point to hold the model to.

    Raises:
        InputFault: a change that is not understood.
    """
    cruise = operating_point(sheet, "cruise")
    speeds = cruise.engine_speed * np.linspace(*SPEEDS, POINTS)
    loads = np.linspace(
        min(LIGHTEST, 0.75 * cruise.manifold_pressure), max(FULLEST, cruise.manifold_pressure), POINTS
    )
    points = [OperatingPoint(float(speed), cruise.manifold_pressure) for speed in speeds]
    points += [OperatingPoint(cruise.engine_speed, float(load)) for load in loads]
    table = steady_batch(passages_of(sheet), packed([CarState(), changed_state(changes)]), points)
    dwell = dwell_degrees(1.0) * np.clip(table[:, :, COLUMN.duty], *DUTY_LIMITS)
    kpa, rpm = from_si(cruise.manifold_pressure, "kPa"), from_si(cruise.engine_speed, "rpm")
    by_speed, by_load = dwell[:, :POINTS], dwell[:, POINTS:]
    return (
        DwellLine(
            f"over speed, at {kpa:.0f} kPa", "engine speed, rpm", 60.0 * speeds, by_speed[0], by_speed[1]
        ),
        DwellLine(
            f"over load, at {rpm:.0f} rpm", "manifold pressure, kPa", 1e-3 * loads, by_load[0], by_load[1]
        ),
    )


def loop_stretch(sheet: SpecSheet, changes: Sequence[str], name: str) -> LoopStretch:
    """The settled loop of a changed car at one operating point, by the simulator.

    The controller's own numbers are on no sheet, so that a generic one stands in: mean dwell is this car's, the shape
    and period of the swing are of its kind.

    Args:
        sheet: of the unit.
        changes: what is off, as in `prediction.prediction_of`.
        name: of the operating point.

    Raises:
        InputFault: a change that is not understood, or no such operating point.
    """
    if name not in sheet.operating:
        raise InputFault("no such operating point", wanted=", ".join(sheet.operating), got=repr(name))
    state, point = changed_state(changes), operating_point(sheet, name)
    row = steady_batch(passages_of(sheet), packed([state]), [point])[0, 0]
    columns = (COLUMN.air, COLUMN.fuel_rich, COLUMN.fuel_lean, COLUMN.stoichiometric_ratio)
    mixture = MixtureMap(*(float(row[column]) for column in columns))
    plant = Plant(sensor=OxygenSensor(voltage_bias=state.sensor_bias))
    drive = steady_drive(
        mixture,
        SETTLING + SHOWN,
        engine_speed=point.engine_speed,
        manifold_pressure=point.manifold_pressure,
    )
    controller = controller_of(sheet)
    trace = simulate(plant, drive, controller, log_rate=ROWS)
    shown = trace.time >= SETTLING
    return LoopStretch(name, trace.time[shown] - SETTLING, dwell_degrees(1.0) * trace.duty[shown],
                       trace.sensor_voltage[shown], controller.title)  # fmt: skip


def controller_of(sheet: SpecSheet) -> Controller:
    """The controller that the sheet names, or the generic one where the catalogue has none of that name."""
    known = catalogue_controllers()
    return known.get(sheet.controller, known[STAND_IN])
