"""Measuring without the special gauge: the ways for every bench setting of a job's sheet."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from dwellwright.errors import InputFault
from dwellwright.languages.catalogue import translated
from dwellwright.languages.markup import translated_page
from dwellwright.service.makeshift import MOST_REPEATS, USUAL_REPEATS, SettingWays, setting_ways, sheet_ways
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.moving_plots import figures_of, moving_later
from dwellwright.web.rendering import page, view_of
from dwellwright.web.stations import shared_values

router = APIRouter()


@router.get("/jobs/{number}/measuring")
def measuring(request: Request, number: JobNumber, repeats: str = str(USUAL_REPEATS)) -> Response:
    """How each bench setting of a job can be measured with what a shop has."""
    view = view_of(request, number)
    fault, count = "", USUAL_REPEATS
    try:
        count = _count(repeats)
        found = sheet_ways(view.sheet.sheet, count)
    except InputFault as refused:
        fault, found = str(refused), sheet_ways(view.sheet.sheet)
    plots = {one.key: _drawn(number, one, count) for one in found}
    values = {
        "title": f"Job {number}: without the special gauge", "station": "bench", "settings": found,
        "repeats": repeats, "fault": fault, "count": count, "plots": plots,
    }  # fmt: skip
    return page(request, "measuring.html", {**shared_values(view), **values}, status=422 if fault else 200)


def _drawn(number: int, found: SettingWays, count: int) -> Markup:
    """The ways for one setting side by side; nothing where none can be judged."""
    if not found.ways:
        return Markup("")
    place, alt = (
        f"/jobs/{number}/measuring/{found.key}",
        f"Ways to measure: {found.title}. They are listed below.",
    )
    return moving_later(f"{place}.svg?repeats={count}", f"{place}/figures?repeats={count}", alt)


@router.get("/jobs/{number}/measuring/{key}.svg")
def ways_picture(
    request: Request, number: JobNumber, key: str, repeats: str = str(USUAL_REPEATS)
) -> Response:
    """The ways for one setting side by side, as a picture."""
    from dwellwright.reports.plots.look import Format
    from dwellwright.service.measuring_plots import setting_plot

    found = setting_ways(view_of(request, number).sheet.sheet, key, _count(repeats))
    return Response(setting_plot(found, Format.SVG).image, media_type="image/svg+xml")


@router.get("/jobs/{number}/measuring/{key}/figures")
def ways_figures(
    request: Request, number: JobNumber, key: str, repeats: str = str(USUAL_REPEATS)
) -> Response:
    """The same as figures for the page's script."""
    from dwellwright.service.measuring_plots import setting_moving

    found = setting_ways(view_of(request, number).sheet.sheet, key, _count(repeats))
    return HTMLResponse(translated_page(str(figures_of(setting_moving(found))), translated))


def _count(text: str) -> int:
    if not (text.isascii() and text.strip().isdigit()):
        raise InputFault("this is not a number of repeats", where="repeats", got=repr(text),
                         wanted=f"1 to {MOST_REPEATS}")  # fmt: skip
    return int(text[:9])
