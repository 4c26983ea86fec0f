"""Photographs of a job: from the tablet's camera or a file, at any step."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse

from dwellwright.errors import InputFault
from dwellwright.records.stages import Side
from dwellwright.service.photographs import add_photograph, photograph_file, step_titles
from dwellwright.web.forms import Form, form_of, side_of
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import YEAR, go_to, page, shop_of, view_of, who_of
from dwellwright.web.stations import shared_values
from dwellwright.web.uploads import LARGEST_PHOTOGRAPH, copied

router = APIRouter()


def _photo_page(request: Request, number: int, typed: dict[str, str], fault: str = "") -> Response:
    view = view_of(request, number)
    values: dict[str, Any] = {
        **shared_values(view), "title": f"Job {number}: Photographs", "station": "", "steps": step_titles(),
        "sides": list(Side), "typed": typed, "fault": fault,
    }  # fmt: skip
    return page(request, "photographs.html", values, status=422 if fault else 200)


@router.get("/jobs/{number}/photographs")
def shown(request: Request, number: JobNumber, step: str = "") -> Response:
    """The photographs of a job, and taking another."""
    return _photo_page(request, number, {"step": step})


@router.post("/jobs/{number}/photographs")
async def take(request: Request, number: JobNumber) -> Response:
    """Keep photographs with the job."""
    async with form_of(request) as form:
        return await run_in_threadpool(_taken, request, number, form)


def _taken(request: Request, number: int, form: Form) -> Response:
    files, typed = form.chosen("photographs"), form.typed
    faults = [] if files else ["no photograph was chosen"]
    for upload in files:
        try:
            with tempfile.TemporaryDirectory() as folder:
                path = copied(upload, Path(folder), LARGEST_PHOTOGRAPH)
                add_photograph(shop_of(request), number, path, side_of(typed), who_of(request),
                               typed.get("words", ""), typed.get("step", ""))  # fmt: skip
        except InputFault as fault:
            faults.append(str(fault))
    if faults:
        return _photo_page(request, number, typed, " — ".join(faults))
    return go_to(f"/jobs/{number}/photographs", "photograph")


@router.get("/jobs/{number}/photographs/{identity}-small.jpg")
def thumbnail(request: Request, number: JobNumber, identity: int) -> Response:
    """One photograph, small."""
    return _file(request, number, identity, small=True)


@router.get("/jobs/{number}/photographs/{identity}.jpg")
def whole(request: Request, number: JobNumber, identity: int) -> Response:
    """One photograph as kept."""
    return _file(request, number, identity, small=False)


def _file(request: Request, number: int, identity: int, *, small: bool) -> Response:
    shop = shop_of(request)
    path = photograph_file(shop, view_of(request, number), identity, small=small)
    return FileResponse(
        path, media_type="image/jpeg", headers={"Cache-Control": f"private, max-age={YEAR}, immutable"}
    )
