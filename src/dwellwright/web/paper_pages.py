"""Papers and data of a job to take along: PDF, CSV, JSON."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse, JSONResponse

from dwellwright.errors import InputFault
from dwellwright.service.export import job_facts
from dwellwright.service.jobs import job_history
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import shop_of, view_of

router = APIRouter()
PDF, ZIP = "application/pdf", "application/zip"


@router.get("/jobs/{number}/job.json")
def everything(request: Request, number: JobNumber) -> Response:
    """Everything a job holds, as one JSON object."""
    shop = shop_of(request)
    headers = {"Content-Disposition": f'attachment; filename="job-{number}.json"'}
    return JSONResponse(job_facts(view_of(request, number), job_history(shop, number)), headers=headers)


@router.get("/jobs/{number}/job.zip")
def archive(request: Request, number: JobNumber) -> Response:
    """Everything a job holds: JSON, a table for each subject, the spec sheet."""
    from dwellwright.service.tables import job_archive

    headers = {"Content-Disposition": f'attachment; filename="job-{number}.zip"'}
    return Response(job_archive(shop_of(request), number), media_type=ZIP, headers=headers)


@router.get("/shop/everything.zip")
def whole_shop(request: Request) -> Response:
    """Everything every job holds, as tables and JSON."""
    from dwellwright.service.tables import shop_archive

    headers = {"Content-Disposition": 'attachment; filename="all-jobs.zip"'}
    return Response(shop_archive(shop_of(request)), media_type=ZIP, headers=headers)


@router.get("/jobs/{number}/code.svg")
def code(request: Request, number: JobNumber, link: str = "") -> Response:
    """The QR code that opens the job on another device of the shop."""
    from dwellwright.service.job_link import checked_link, job_link, link_code

    view_of(request, number)
    chosen = checked_link(link) or job_link(number, str(request.base_url))
    if not chosen:
        raise InputFault("this machine is in no network", remedy="Connect it, and start with `serve --lan`")
    return Response(link_code(chosen), media_type="image/svg+xml")


@router.get("/jobs/{number}/readings.csv")
def readings_table(request: Request, number: JobNumber) -> Response:
    """The readings as a table."""
    from dwellwright.service.papers import readings_csv

    headers = {"Content-Disposition": f'attachment; filename="readings-job-{number}.csv"'}
    return Response(readings_csv(shop_of(request), number), media_type="text/csv", headers=headers)


@router.get("/jobs/{number}/bench-card.pdf")
def bench_card(request: Request, number: JobNumber) -> Response:
    """The bench card of the job's unit."""
    from dwellwright.service.papers import bench_card_pdf

    return Response(bench_card_pdf(shop_of(request), number), media_type=PDF)


@router.get("/jobs/{number}/handover.pdf")
def handover_pdf(request: Request, number: JobNumber) -> Response:
    """The last handover sheet made."""
    from dwellwright.service.papers import last_handover

    kept = last_handover(shop_of(request), number)
    if kept is None:
        raise InputFault("no handover sheet was made yet", where=f"job {number}",
                         remedy="Make it on the handover page")  # fmt: skip
    return FileResponse(kept, media_type=PDF, filename=f"handover-job-{number}.pdf",
                        content_disposition_type="inline")  # fmt: skip
