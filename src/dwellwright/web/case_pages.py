"""The write-up of a case: chosen, looked at, taken along."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import page, shop_of, view_of
from dwellwright.web.stations import shared_values

router = APIRouter()

CLOSED = (
    "sandbox allow-scripts; default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; "
    "frame-ancestors 'none'"
)
"""The write-up runs its own script and nothing else, apart from the workbench and its cookies."""


def _chosen(request: Request) -> list[int]:
    given = request.query_params.getlist("photo")
    return [int(one) for one in given if one.isascii() and one.isdigit() and len(one) < 10][:40]


@router.get("/jobs/{number}/case")
def choose(request: Request, number: JobNumber) -> Response:
    """What the write-up will hold, and its two forms."""
    from dwellwright.service.case_writeup import anonymity

    view = view_of(request, number)
    values = {
        **shared_values(view),
        "anonymity": anonymity(shop_of(request), view),
        "title": f"Job {number}: Case write-up",
        "station": "",
    }
    return page(request, "job_case.html", values)


@router.get("/jobs/{number}/case.html")
def look(request: Request, number: JobNumber) -> Response:
    """The write-up itself."""
    from dwellwright.service.case_writeup import write_up

    headers = {"Content-Security-Policy": CLOSED}
    if "take" in request.query_params:
        headers["Content-Disposition"] = f'attachment; filename="case-{number}.html"'
    return HTMLResponse(write_up(shop_of(request), number, _chosen(request)), headers=headers)


@router.get("/jobs/{number}/case.zip")
def archive(request: Request, number: JobNumber) -> Response:
    """The write-up with its plots as files of their own."""
    from dwellwright.service.case_writeup import write_up_archive

    headers = {"Content-Disposition": f'attachment; filename="case-{number}.zip"'}
    content = write_up_archive(shop_of(request), number, _chosen(request))
    return Response(content, media_type="application/zip", headers=headers)
