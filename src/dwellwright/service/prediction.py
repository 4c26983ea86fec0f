"""What a unit on its sheet, or so far off it, should do at idle, 3000 rpm and cruise."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from dwellwright.carburetor.exhaust import barrel_lambdas, point_gas
from dwellwright.carburetor.prediction import ADJUSTMENTS, PointPrediction, predicted, sensitivities
from dwellwright.carburetor.solution import NotConvergedError
from dwellwright.carburetor.state import CarState
from dwellwright.carburetor.tolerance import built_sheets
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault
from dwellwright.physics.atmosphere import standard_pressure
from dwellwright.physics.combustion import ExhaustGas
from dwellwright.physics.exhaust import INFRARED_CARBON_FACTOR
from dwellwright.units import Dimension, dwell_degrees, known_unit, step_from_si, step_to_si, to_si

_D = Dimension
FIELD_DIMENSIONS: dict[str, Dimension] = {
    "lean_stop": _D.LENGTH, "rich_stop": _D.LENGTH, "rod_travel_lost": _D.LENGTH,
    "needle_left": _D.TURNS, "needle_right": _D.TURNS, "idle_bleed": _D.TURNS, "fuel_level": _D.LENGTH,
    "seat_leak": _D.FRACTION, "rods_stuck": _D.FRACTION, "power_vacuum": _D.PRESSURE,
    "main_bleed_blocked": _D.FRACTION, "idle_bleed_blocked": _D.FRACTION, "idle_channel_blocked": _D.FRACTION,
    "main_jet_error": _D.FRACTION, "vacuum_leak": _D.AREA, "exhaust_leak": _D.FRACTION,
    "injected_air": _D.FRACTION, "misfire": _D.FRACTION, "sensor_bias": _D.VOLTAGE, "purge": _D.AREA,
    "ventilation": _D.AREA, "ethanol": _D.FRACTION, "ambient_pressure": _D.PRESSURE,
    "air_temperature": _D.TEMPERATURE, "fuel_temperature": _D.TEMPERATURE,
    "main_scale": _D.FRACTION, "idle_scale": _D.FRACTION, "fuel_pressure": _D.PRESSURE,
    "solenoid_dead": _D.FRACTION, "sensor_lag": _D.FRACTION, "sensor_cold": _D.TEMPERATURE_STEP,
    "coolant_sensor": _D.TEMPERATURE_STEP, "throttle_sensor": _D.VOLTAGE, "actuator_offset": _D.FRACTION,
    "egr": _D.FRACTION,
}  # fmt: skip
"""What each part of a car's state measures; a test holds it against the state itself."""

NEEDLES = "idle_needle"
ALTITUDE = "altitude"
_CHANGE = re.compile(r"\s*([a-z_]+)\s*=\s*([+-]?[0-9.]+(?:e[+-]?[0-9]+)?)\s*([A-Za-z%_/0-9]*)\s*")


@dataclass(frozen=True)
class ScrewEffect:
    """What one step of an adjustable point does to dwell: `step` as a shop counts it, degrees by regime.

    Args:
        setting: key on the sheet.
        title: of the setting.
        step: as a shop counts it.
        dwell_change: by regime. [deg]
        interval: 90 % interval of the same, from the sheet's own tolerances; empty where not asked for. [deg]
    """

    setting: str
    title: str
    step: str
    dwell_change: dict[str, float]
    interval: dict[str, tuple[float, float]]


@dataclass(frozen=True)
class Prediction:
    """A car's steady answer, and what each screw would change."""

    title: str
    changes: tuple[str, ...]
    points: tuple[PointPrediction, ...]
    barrels: tuple[tuple[float, ...], ...]
    gases: tuple[ExhaustGas, ...]
    screws: tuple[ScrewEffect, ...]


def prediction_of(sheet: SpecSheet, changes: Sequence[str] = (), intervals: bool = False) -> Prediction:
    """Dwell and mixture at every operating point of a sheet.

    Args:
        sheet: of the unit.
        changes: what is off or wrong, as `name=value unit`: `lean_stop=+12thou`, `vacuum_leak=3mm2`,
            `idle_needle=-0.5turns` (both needles), `altitude=1500m`, `ethanol=10%`.
        intervals: whether each screw's effect gets its interval; takes about a second.

    Raises:
        InputFault: a change that is not understood, or one so far off that the model has no answer.
    """
    state = changed_state(changes)
    try:
        points = predicted(sheet, state)
    except NotConvergedError as fault:
        raise InputFault("the model has no answer for such a car", got=str(fault)) from None
    barrels = barrel_lambdas(sheet, state, points)
    gases = tuple(point_gas(sheet, state, point, each) for point, each in zip(points, barrels, strict=True))
    return Prediction(
        sheet.title, tuple(changes), points, barrels, gases, screw_effects(sheet, state, intervals)
    )


def screw_effects(sheet: SpecSheet, state: CarState, intervals: bool) -> tuple[ScrewEffect, ...]:
    """What a step of each screw does to dwell; on request with an interval, from the sheet's own tolerances."""
    slopes = sensitivities(sheet, state)
    built = [sensitivities(one, state) for one in (built_sheets(sheet) if intervals else ())]
    return tuple(
        _effect(sheet, key.setting, slopes[key.setting], [one[key.setting] for one in built])
        for key in ADJUSTMENTS
    )


def changed_state(changes: Sequence[str]) -> CarState:
    """The sheet's own car with some things off.

    Raises:
        InputFault: a change that is not understood.
    """
    state = CarState()
    for words in changes:
        match = _CHANGE.fullmatch(words)
        if match is None:
            raise InputFault(
                "the change is not understood",
                got=repr(words),
                wanted="name=value unit, e.g. lean_stop=+12thou",
            )
        state = replace(state, **_fields(match[1], match[2], match[3]))
    return state


def _fields(name: str, number: str, unit: str) -> dict[str, float]:
    try:
        value = float(number)
    except ValueError:
        raise InputFault("the change is not a number", where=name, got=repr(number)) from None
    if name == ALTITUDE:
        _refuse(name, unit, Dimension.LENGTH)
        return {"ambient_pressure": standard_pressure(to_si(value, unit))}
    names = ("needle_left", "needle_right") if name == NEEDLES else (name,)
    if names[0] not in FIELD_DIMENSIONS:
        known = ", ".join([*FIELD_DIMENSIONS, NEEDLES, ALTITUDE])
        raise InputFault("nothing of that name can be off", wanted=known, got=repr(name))
    dimension = FIELD_DIMENSIONS[names[0]]
    given = unit or (
        "1" if dimension is Dimension.FRACTION else "turns" if dimension is Dimension.TURNS else ""
    )
    _refuse(name, given, dimension)
    absolute = names[0] in ("ambient_pressure", "air_temperature", "fuel_temperature")
    si = to_si(value, given, where=name) if absolute else step_to_si(value, given)
    return dict.fromkeys(names, si)


def _refuse(name: str, unit: str, dimension: Dimension) -> None:
    if not unit or known_unit(unit, where=name).dimension is not dimension:
        raise InputFault(
            "the change needs a unit", where=name, wanted=f"a unit of {dimension.value}", got=repr(unit)
        )


def _effect(
    sheet: SpecSheet, key: str, slopes: dict[str, float], built: list[dict[str, float]]
) -> ScrewEffect:
    """Per quarter turn where the screw has a thread or is counted in turns, else per millimetre."""
    setting = sheet.settings[key]
    if setting.wanted.dimension is Dimension.TURNS:
        step, words = 0.25, "1/4 turn out"
    elif setting.thread is not None:
        step = 0.25 * setting.thread.travel_per_turn
        words = f"1/4 turn ({step_from_si(step, 'thou'):.1f} thou higher)"
    else:
        step, words = 1e-3, "1 mm more on the gauge"
    changes = {name: dwell_degrees(step * slope) for name, slope in slopes.items()}
    interval = {}
    for name, change in changes.items() if built else ():
        low, high = np.quantile([dwell_degrees(step * one[name]) for one in built], (0.05, 0.95))
        interval[name] = (min(float(low), change), max(float(high), change))
    return ScrewEffect(key, setting.title, words, changes, interval)


@cache
def state_fields() -> tuple[str, ...]:
    """Everything that can be off, by name."""
    return (*FIELD_DIMENSIONS, NEEDLES, ALTITUDE)


def gas_facts(gas: ExhaustGas) -> dict[str, float]:
    """Dry gas before a converter, hydrocarbon as hexane as an infrared analyzer shows it."""
    return {
        "co_pct": round(100 * gas.carbon_monoxide, 3),
        "co2_pct": round(100 * gas.carbon_dioxide, 3),
        "o2_pct": round(100 * gas.oxygen, 3),
        "h2_pct": round(100 * gas.hydrogen, 3),
        "hc_ppm": round(1e6 * gas.hydrocarbon_reading(INFRARED_CARBON_FACTOR), 1),
    }


def prediction_facts(found: Prediction) -> dict[str, Any]:
    """A prediction as plain facts, each number with its unit in its key."""
    return {
        "sheet": found.title,
        "changes": list(found.changes),
        "points": {
            point.name: {
                "dwell_deg": round(dwell_degrees(point.duty), 3),
                "wanted_dwell_deg": round(dwell_degrees(point.wanted_duty), 3),
                "saturated": point.saturated,
                "lambda_released": round(point.lambda_released, 4),
                "lambda_energized": round(point.lambda_energized, 4),
                "lambda_held": round(point.lambda_held, 4),
                "air_g_s": round(1e3 * point.air, 4),
                "fuel_g_s": round(1e3 * point.fuel, 5),
                "lambda_barrels": [round(value, 4) for value in barrels],
                "gas": gas_facts(gas),
                "findings": [str(finding) for finding in point.findings],
            }
            for point, barrels, gas in zip(found.points, found.barrels, found.gases, strict=True)
        },
        "screws": [
            {"setting": one.setting, "title": one.title, "step": one.step,
             "dwell_change_deg": {name: round(change, 3) for name, change in one.dwell_change.items()},
             "interval_deg": {name: [round(low, 3), round(high, 3)] for name, (low, high) in one.interval.items()}}
            for one in found.screws
        ],
    }  # fmt: skip
