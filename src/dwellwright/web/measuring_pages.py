"""Measuring without the special gauge: the ways for every bench setting of a job's sheet."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from dwellwright.errors import InputFault
from dwellwright.service.makeshift import MOST_REPEATS, USUAL_REPEATS, sheet_ways
from dwellwright.web.job_pages import JobNumber
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
    values = {
        "title": f"Job {number}: without the special gauge", "station": "bench", "settings": found,
        "repeats": repeats, "fault": fault, "count": count,
    }  # fmt: skip
    return page(request, "measuring.html", {**shared_values(view), **values}, status=422 if fault else 200)


def _count(text: str) -> int:
    if not (text.isascii() and text.strip().isdigit()):
        raise InputFault("this is not a number of repeats", where="repeats", got=repr(text),
                         wanted=f"1 to {MOST_REPEATS}")  # fmt: skip
    return int(text[:9])
