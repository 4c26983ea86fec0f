"""What-if: what a setting, a fault or the day does to the dwell, without touching a car."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from dwellwright.errors import InputFault
from dwellwright.service.prediction import Prediction, prediction_facts, prediction_of
from dwellwright.service.sheets import list_sheets, named_sheet
from dwellwright.web.rendering import number_of, page, shop_of

router = APIRouter()

KNOBS = (
    ("lean_stop", "Lean stop, off by", "thou", -40, 60, 1),
    ("rich_stop", "Rich stop, off by", "thou", -60, 60, 1),
    ("idle_needle", "Idle needles, off by", "turns", -2, 2, 0.0625),
    ("idle_bleed", "Idle air bleed, off by", "turns", -1.5, 1.5, 0.0625),
    ("fuel_level", "Fuel level, high by", "mm", -5, 5, 0.1),
    ("vacuum_leak", "Air leak below the throttle", "mm2", 0, 10, 0.1),
    ("exhaust_leak", "Exhaust leak, of idle flow", "%", 0, 20, 0.5),
    ("idle_channel_blocked", "Idle channel blocked", "%", 0, 95, 1),
    ("main_bleed_blocked", "Main air bleed blocked", "%", 0, 95, 1),
    ("purge", "Purge open", "mm2", 0, 1.5, 0.01),
    ("sensor_bias", "Sensor reads rich by", "mV", -200, 200, 5),
    ("ethanol", "Ethanol in the fuel", "%", 0, 30, 0.5),
    ("altitude", "Height above the sea", "m", 0, 3000, 50),
)
"""What can be moved: name, label, unit, from, to, step."""


def changes_of(values: dict[str, str]) -> list[str]:
    """The moved knobs as changes for the model.

    Raises:
        InputFault: a field that is no number.
    """
    changes = []
    for name, label, unit, _, _, _ in KNOBS:
        value = number_of(values, name, label)
        if value:
            changes.append(f"{name}={value:g}{unit}")
    return changes


def _predicted(request: Request, name: str, values: dict[str, str]) -> tuple[Prediction, Prediction]:
    sheet = named_sheet(shop_of(request), name).sheet
    return prediction_of(sheet), prediction_of(sheet, changes_of(values))


@router.get("/what-if")
def what_if(request: Request) -> Response:
    """The page; without a script the button asks for it anew."""
    values = dict(request.query_params)
    lines = list_sheets(shop_of(request))
    chosen = values.get("sheet") or lines[-1].name
    shared: dict[str, Any] = {
        "title": "What if",
        "knobs": KNOBS,
        "sheets": lines,
        "chosen": chosen,
        "typed": values,
    }
    try:
        base, moved = _predicted(request, chosen, values)
    except InputFault as fault:
        return page(request, "what_if.html", {**shared, "fault": str(fault), "rows": []}, status=422)
    rows = [(one, other) for one, other in zip(base.points, moved.points, strict=True)]
    return page(request, "what_if.html", {**shared, "rows": rows, "screws": moved.screws, "fault": ""})


@router.get("/what-if/answer")
def answer(request: Request) -> Response:
    """The same as JSON, for the page's script."""
    values = dict(request.query_params)
    try:
        base, moved = _predicted(request, values.get("sheet", ""), values)
    except InputFault as fault:
        return JSONResponse({"fault": str(fault)}, status_code=422)
    return JSONResponse({"base": prediction_facts(base), "moved": prediction_facts(moved)})
