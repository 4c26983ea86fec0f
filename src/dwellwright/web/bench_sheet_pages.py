"""A bench sheet of a job looked at closely: each reading against its tolerance, and what makes it doubtful."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from dwellwright.errors import InputFault
from dwellwright.service.calibrations import corrections
from dwellwright.service.evidence import evidence_file
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.moving_plots import moving
from dwellwright.web.rendering import page, picture, shop_of, view_of
from dwellwright.web.stations import shared_values

router = APIRouter()


@router.get("/jobs/{number}/bench-sheet/{identity}")
def closely(request: Request, number: JobNumber, identity: int) -> Response:
    """The readings of one bench sheet."""
    from dwellwright.reports.plots.look import Format
    from dwellwright.service.measuring_plots import bench_moving, bench_plot, judged_readings

    shop, view = shop_of(request), view_of(request, number)
    record = next((one for one in view.evidence if one.id == identity and one.kind == "gauges"), None)
    if record is None:
        raise InputFault("no such file", where=f"job {number}", got=f"bench sheet {identity}")
    path, known = evidence_file(shop, record), corrections(shop)
    found = judged_readings(path, known)
    plot = moving(picture(bench_plot(path, Format.SVG, known)), bench_moving(found)) if found else ""
    values = {"title": f"Job {number}: {record.file.name}", "station": "evidence", "record": record,
              "readings": found, "plot": plot}  # fmt: skip
    return page(request, "bench_sheet.html", {**shared_values(view), **values})
