"""What-if: what a setting, a fault or the day does to the dwell, without touching a car."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse
from markupsafe import Markup

from dwellwright.errors import InputFault
from dwellwright.service.known_sheets import known_sheet, sheet_lines
from dwellwright.service.sheets import NamedSheet, listed_sheet
from dwellwright.units import dwell_degrees
from dwellwright.web.charts import Chart, Line, drawn
from dwellwright.web.forms import number_of
from dwellwright.web.remembered import Remembered
from dwellwright.web.rendering import page, shop_of

if TYPE_CHECKING:
    from dwellwright.catalogue.sheet import SpecSheet

router = APIRouter()
_ANSWERS: Remembered[dict[str, Any]] = Remembered()
AIR, FUEL = 30.0, 40.0
"""Air at the horn and fuel in the bowl of the model's own warm day; a test holds them against it. [degC]"""


@dataclass(frozen=True)
class Knob:
    """What can be moved: name in the model, label, unit, ends, step, and where it stands on the sheet's own car."""

    name: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    start: float = 0.0


KNOBS: dict[str, tuple[Knob, ...]] = {
    "Adjustable points": (
        Knob("lean_stop", "Lean stop, off by", "thou", -40, 60, 1),
        Knob("rich_stop", "Rich stop, off by", "thou", -60, 60, 1),
        Knob("idle_needle", "Idle needles, out by", "turns", -2, 2, 0.0625),
        Knob("idle_bleed", "Idle air bleed, out by", "turns", -1.5, 1.5, 0.0625),
        Knob("fuel_level", "Fuel level, high by", "mm", -5, 5, 0.1),
    ),
    "Faults": (
        Knob("vacuum_leak", "Air leak below the throttle", "mm2", 0, 10, 0.1),
        Knob("exhaust_leak", "Exhaust leak, of idle flow", "%", 0, 20, 0.5),
        Knob("idle_channel_blocked", "Idle channel blocked", "%", 0, 95, 1),
        Knob("main_bleed_blocked", "Main air bleed blocked", "%", 0, 95, 1),
        Knob("purge", "Purge open", "mm2", 0, 1.5, 0.01),
        Knob("sensor_bias", "Sensor reads rich by", "mV", -200, 200, 5),
    ),
    "The day and the fuel": (
        Knob("ethanol", "Ethanol in the fuel", "%", 0, 30, 0.5),
        Knob("altitude", "Height above the sea", "m", 0, 3000, 50),
        Knob("air_temperature", "Air", "degC", -10, 45, 1, AIR),
        Knob("fuel_temperature", "Fuel in the bowl", "degC", -10, 70, 1, FUEL),
    ),
}
"""Everything that can be moved, in groups."""

POINT_LABELS = {"idle": "hot idle", "3000": "3000 rpm, no load", "cruise": "cruise"}


def changes_of(values: dict[str, str]) -> list[str]:
    """The moved knobs as changes for the model; one left empty, or standing where it started, is no change.

    Raises:
        InputFault: a field that is no number, or beyond what the model was made for.
    """
    changes = []
    for knob in (one for group in KNOBS.values() for one in group):
        value = number_of(values, knob.name, knob.label)
        if value is None or value == knob.start:
            continue
        if not knob.low <= value <= knob.high:
            raise InputFault("the model was not made for this", where=knob.label, got=f"{value:g} {knob.unit}",
                             wanted=f"{knob.low:g} to {knob.high:g} {knob.unit}")  # fmt: skip
        changes.append(f"{knob.name}={value:g}{knob.unit}")
    return changes


def _answer(found: NamedSheet, values: dict[str, str]) -> dict[str, Any]:
    """Everything the page shows for those knobs.

    Raises:
        InputFault: a field that is no number, or that the model cannot be given.
    """
    changes, point = changes_of(values), values.get("point") or "idle"
    work = partial(_worked_out, known_sheet(found.text, found.name), changes, point)
    return _ANSWERS.get((found.text, found.name, *changes, point), work)


def _worked_out(sheet: SpecSheet, changes: list[str], point: str) -> dict[str, Any]:
    from dwellwright.service.loop_preview import dwell_lines, loop_stretch
    from dwellwright.service.prediction import prediction_of

    base, moved = prediction_of(sheet), prediction_of(sheet, changes)
    stretch = loop_stretch(sheet, changes, point)
    lines = dwell_lines(sheet, changes)
    rows = [(POINT_LABELS.get(one.name, one.name), one, other)
            for one, other in zip(base.points, moved.points, strict=True)]  # fmt: skip
    return {"rows": rows, "screws": moved.screws, "changes": changes, "point": point,
            "controller": stretch.controller, "curves": [_curve(*_numbers(one)) for one in lines],
            "loop": _loop(stretch.time.tolist(), stretch.dwell.tolist(), stretch.sensor.tolist(), point)}  # fmt: skip


def _numbers(line: Any) -> tuple[str, str, list[float], list[float], list[float]]:
    return line.title, line.label, line.at.tolist(), line.base.tolist(), line.moved.tolist()


def _curve(title: str, label: str, at: list[float], base: list[float], moved: list[float]) -> Markup:
    words = (f"Dwell {title}: on the sheet {base[0]:.0f} to {base[-1]:.0f} degrees, "
             f"then {moved[0]:.0f} to {moved[-1]:.0f}, with {label} from {at[0]:.0f} to {at[-1]:.0f}")  # fmt: skip
    lines = [Line("on the sheet", "base", base), Line("then", "moved", moved)]
    return drawn(Chart(f"Dwell, deg, {title}", words, at, lines, label, (0.0, 60.0), 250.0, None, 30.0))


def _loop(time: list[float], dwell: list[float], volts: list[float], point: str) -> list[Markup]:
    place = POINT_LABELS.get(point, point)
    swing = f"The loop at {place}: dwell swings between {min(dwell):.0f} and {max(dwell):.0f} degrees"
    sensor = f"The sensor at {place}: between {1e3 * min(volts):.0f} and {1e3 * max(volts):.0f} mV"
    millivolts = [1e3 * one for one in volts]
    upper, lower = [Line("", "moved", dwell)], [Line("", "trace", millivolts)]
    return [
        drawn(Chart(f"Dwell, deg, {place}", swing, time, upper, "", (0.0, 60.0), 170.0, None, 30.0)),
        drawn(Chart("Sensor, mV", sensor, time, lower, "seconds", (0.0, 1000.0), 170.0, None, 450.0)),
    ]


def _values(request: Request) -> tuple[dict[str, str], NamedSheet]:
    values = dict(request.query_params)
    name = values.get("sheet") or sheet_lines(shop_of(request))[0].name
    return {**values, "sheet": name}, listed_sheet(shop_of(request), name)


@router.get("/what-if")
def what_if(request: Request) -> Response:
    """The page; without a script the button asks for it anew."""
    values, found = _values(request)
    shared: dict[str, Any] = {
        "title": "What if", "groups": KNOBS, "sheets": sheet_lines(shop_of(request)), "typed": values,
        "points": POINT_LABELS, "rows": [],
    }  # fmt: skip
    try:
        return page(request, "what_if.html", {**shared, **_answer(found, values)})
    except InputFault as fault:
        return page(request, "what_if.html", {**shared, "fault": str(fault)}, status=422)


@router.get("/what-if/shown")
def shown(request: Request) -> Response:
    """Only what the knobs change, for the page's script."""
    values, found = _values(request)
    try:
        return page(request, "what_if_shown.html", _answer(found, values))
    except InputFault as fault:
        return JSONResponse({"fault": str(fault)}, status_code=422)


@router.get("/what-if/answer")
def answer(request: Request) -> Response:
    """The same in numbers."""
    from dwellwright.service.loop_preview import dwell_lines
    from dwellwright.service.prediction import prediction_facts, prediction_of

    values, found = _values(request)
    try:
        sheet, changes = known_sheet(found.text, found.name), changes_of(values)
        base, moved = prediction_of(sheet), prediction_of(sheet, changes)
        lines = dwell_lines(sheet, changes)
    except InputFault as fault:
        return JSONResponse({"fault": str(fault)}, status_code=422)
    curves = [{"title": one.title, "x": one.label, "at": one.at.round(3).tolist(),
               "base_dwell_deg": one.base.round(3).tolist(), "moved_dwell_deg": one.moved.round(3).tolist()}
              for one in lines]  # fmt: skip
    return JSONResponse({"base": prediction_facts(base), "moved": prediction_facts(moved), "curves": curves,
                         "scale_deg": dwell_degrees(1.0)})  # fmt: skip
