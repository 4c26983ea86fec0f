"""Time and parts of a job."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.service.costs import add_cost, cost_sheet, costs_csv, prices_of, take_back_cost
from dwellwright.service.photographs import step_titles
from dwellwright.service.shop_profile import shop_profile
from dwellwright.web.forms import typed_of
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import go_to, page, shop_of, view_of, who_of
from dwellwright.web.stations import shared_values

router = APIRouter()


def _cost_page(request: Request, number: int, typed: dict[str, str], fault: str = "") -> Response:
    shop = shop_of(request)
    view, profile = view_of(request, number), shop_profile(shop)
    values: dict[str, Any] = {
        **shared_values(view), "title": f"Job {number}: Time and parts", "station": "", "typed": typed,
        "spent": cost_sheet(view, prices_of(profile)), "profile": profile, "steps": step_titles(), "fault": fault,
    }  # fmt: skip
    return page(request, "job_costs.html", values, status=422 if fault else 200)


@router.get("/jobs/{number}/costs")
def shown(request: Request, number: JobNumber) -> Response:
    """Minutes of every step, parts and prices."""
    return _cost_page(request, number, {})


@router.post("/jobs/{number}/costs")
async def add(request: Request, number: JobNumber) -> Response:
    """Add a line, or take one back."""
    typed = await typed_of(request)

    def work() -> Response:
        try:
            if "remove" in typed:
                given = typed["remove"]
                identity = int(given) if given.isascii() and given.isdigit() and len(given) < 10 else 0
                take_back_cost(shop_of(request), number, identity, who_of(request))
                return go_to(f"/jobs/{number}/costs", "line-back")
            words = {name: typed.get(name, "") for name in ("kind", "words", "count", "price", "step")}
            add_cost(shop_of(request), number, who=who_of(request), **words)
        except InputFault as fault:
            return _cost_page(request, number, typed, str(fault))
        return go_to(f"/jobs/{number}/costs", "reading")

    return await run_in_threadpool(work)


@router.get("/jobs/{number}/costs.csv")
def table(request: Request, number: JobNumber) -> Response:
    """Time and parts as a table."""
    shop = shop_of(request)
    headers = {"Content-Disposition": f'attachment; filename="time-and-parts-job-{number}.csv"'}
    text = costs_csv(view_of(request, number), prices_of(shop_profile(shop)))
    return Response(text, media_type="text/csv", headers=headers)
