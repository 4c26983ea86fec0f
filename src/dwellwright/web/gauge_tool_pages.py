"""How far a gauge can be trusted, and sums at the bench: only a calibration can be kept."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.units import UNITS
from dwellwright.web.forms import Form, form_of, number_of, typed_of
from dwellwright.web.moving_plots import moving
from dwellwright.web.rendering import page, picture, shop_of, who_of
from dwellwright.web.uploads import LARGEST_TABLE, copied

if TYPE_CHECKING:
    from dwellwright.service.calibrations import CalibratedInstrument
    from dwellwright.service.gauge_checks import Calibrated, Drifted, Studied

router = APIRouter()
EXAMPLES = {
    "study": "part,hand,unit,reading_1,reading_2\n1,A,thou,81,82\n1,B,thou,82,82\n2,A,thou,90,91\n2,B,thou,92,91\n",
    "calibration": "truth,reading,unit\n60,61.2,thou\n80,81.6,thou\n100,101.7,thou\n",
    "drift": "truth,reading,unit\n80,80.1,thou\n80,79.8,thou\n80,81.2,thou\n",
}
"""How the tables look; invented."""


def _shown(request: Request, values: dict[str, Any], typed: dict[str, str], fault: str = "") -> Response:
    from dwellwright.service.calibrations import calibrated_instruments

    shared = {
        "own": {one.tool: one.label for one in calibrated_instruments(shop_of(request))}, "kept": None,
        "title": "Gauges", "examples": EXAMPLES, "units": list(UNITS), "lengths": ("mm", "thou", "in"),
        "typed": typed, "fault": fault, "found": None, "plot": None, "said": "", "kind": typed.get("kind", ""),
    }  # fmt: skip
    return page(request, "gauge_tools.html", {**shared, **values}, status=422 if fault else 200)


@router.get("/gauges")
def tools(request: Request) -> Response:
    """The forms."""
    return _shown(request, {}, {})


@router.post("/gauges/check")
async def check(request: Request) -> Response:
    """A study, a calibration or a drift from a table that is sent or typed."""
    async with form_of(request) as form:
        return await run_in_threadpool(_checked, request, form)


def _checked(request: Request, form: Form) -> Response:
    from dwellwright.reports.plots.look import Format

    try:
        found, kept = _report(request, form)
    except InputFault as fault:
        return _shown(request, {}, form.typed, str(fault))
    values = {
        "found": found.report,
        "plot": moving(picture(found.plot(Format.SVG)), found.moving()),
        "kept": kept,
    }
    return _shown(request, values, form.typed)


def _report(
    request: Request, form: Form
) -> tuple[Studied | Calibrated | Drifted, CalibratedInstrument | None]:
    from dwellwright.service.gauge_checks import gauge_calibration, gauge_drift_of, gauge_study

    typed = form.typed
    kinds: dict[str, Callable[[Path], Studied | Calibrated | Drifted]] = {
        "study": lambda path: gauge_study(path, number_of(typed, "tolerance", "tolerance")),
        "calibration": lambda path: gauge_calibration(path, number_of(typed, "reading", "reading")),
        "drift": lambda path: gauge_drift_of(path, number_of(typed, "repeatability", "repeatability") or 0.0),
    }
    kind = typed.get("kind", "")
    if kind not in kinds:
        raise InputFault("no such check of a gauge", got=repr(kind), wanted=", ".join(kinds))
    with tempfile.TemporaryDirectory() as folder:
        files = form.chosen("file")
        if not files and not typed.get("table", "").strip():
            raise InputFault("there is no table", where=kind, wanted="a file, or its lines typed below")
        path = Path(folder) / "typed.csv"
        if files:
            path = copied(files[0], Path(folder), LARGEST_TABLE)
        else:
            path.write_text(typed["table"], encoding="utf-8")
        found = kinds[kind](path)
        return found, _kept(request, path, typed) if kind == "calibration" and typed.get("keep") else None


def _kept(request: Request, path: Path, typed: dict[str, str]) -> CalibratedInstrument:
    from dwellwright.service.calibrations import keep_calibration

    doubt = number_of(typed, "doubt", "uncertainty of the known sizes")
    return keep_calibration(
        shop_of(request), path, typed["keep"], doubt, typed.get("day", ""), who_of(request)
    )


@router.post("/gauges/sum")
async def work_out(request: Request) -> Response:
    """One of the sums at the bench."""
    typed = await typed_of(request)
    try:
        said = _SUMS[typed.get("kind", "")](typed) if typed.get("kind") in _SUMS else ""
    except InputFault as fault:
        return _shown(request, {}, typed, str(fault))
    return _shown(request, {"said": said}, typed)


def _needed(typed: dict[str, str], name: str, label: str) -> float:
    value = number_of(typed, name, label)
    if value is None:
        raise InputFault("the field is blank", where=label, wanted="a number")
    return value


def _choke(typed: dict[str, str]) -> str:
    from dwellwright.service.gauge_sums import angle_of_plug, choke_plate, plug_of_angle

    unit = typed.get("unit") or "mm"
    plate = choke_plate(
        (_needed(typed, "bore", "bore"), unit), number_of(typed, "shut", "shut angle") or 0.0,
        (number_of(typed, "offset", "offset") or 0.0, unit), (number_of(typed, "thickness", "thickness") or 0.0, unit),
    )  # fmt: skip
    plug, angle = number_of(typed, "plug", "plug"), number_of(typed, "angle", "angle")
    if plug is not None:
        return f"A plug of {plug:g} {unit} opens the choke by {angle_of_plug((plug, unit), plate):.2f} deg from shut."
    if angle is not None:
        return f"At {angle:g} deg from shut a plug of {plug_of_angle(angle, plate, unit):.4g} {unit} just passes."
    raise InputFault("one of the two must be given", where="choke", wanted="the plug or the angle")


def _float(typed: dict[str, str]) -> str:
    from dwellwright.service.gauge_sums import float_lever, height_of_level, level_of_height

    unit = typed.get("unit") or "mm"
    lever = float_lever(
        (_needed(typed, "float_arm", "float arm"), unit), (_needed(typed, "gauge_arm", "gauge arm"), unit),
        number_of(typed, "arm_angle", "angle of the arm") or 0.0, higher_is_richer=typed.get("higher") == "richer",
    )  # fmt: skip
    height, level = number_of(typed, "height", "height"), number_of(typed, "level", "level")
    if height is not None:
        rise = level_of_height((height, unit), lever)
        return f"With {height:+g} {unit} of gauged height the fuel moves by {rise:+.4g} {unit} (plus: up, richer)."
    if level is not None:
        change = height_of_level((level, unit), lever)
        return f"To move the fuel by {level:+g} {unit} change the gauged height by {change:+.4g} {unit}."
    raise InputFault(
        "one of the two must be given", where="float", wanted="the height's change or the fuel's"
    )


def _screw(typed: dict[str, str]) -> str:
    from dwellwright.service.gauge_sums import travel_of, turns_of_travel

    thread, value = typed.get("thread", ""), _needed(typed, "value", "turns or travel")
    unit = typed.get("unit") or "turns"
    if unit == "turns":
        travels = ", ".join(f"{travel_of(value, thread, one):.4g} {one}" for one in ("mm", "thou"))
        return f"{value:g} turns of {thread}: {travels}."
    return f"{value:g} {unit}: {turns_of_travel((value, unit), thread):.3f} turns of {thread}."


def _convert(typed: dict[str, str]) -> str:
    from dwellwright.service.gauge_sums import converted

    value, unit, other = _needed(typed, "value", "number"), typed.get("unit", ""), typed.get("other", "")
    return f"{value:g} {unit} = {converted(value, unit, other):.7g} {other}"


def _vacuum(typed: dict[str, str]) -> str:
    from dwellwright.service.gauge_sums import absolute_of_vacuum, converted

    value, unit = _needed(typed, "value", "vacuum"), typed.get("unit") or "kPa"
    around, its_unit = _needed(typed, "barometer", "barometer"), typed.get("barometer_unit") or "kPa"
    found = absolute_of_vacuum(value, unit, around, its_unit)
    return (
        f"{value:g} {unit} of vacuum: {found:.4g} {unit} absolute ({converted(found, unit, 'kPa'):.4g} kPa)."
    )


_SUMS: dict[str, Callable[[dict[str, str]], str]] = {
    "choke": _choke, "float": _float, "screw": _screw, "convert": _convert, "vacuum": _vacuum,
}  # fmt: skip
