"""One job, station by station, from arrival to handover."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Request, Response
from fastapi import Path as Part
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.service.diagnosis import diagnose_job
from dwellwright.service.jobs import close_job, correct_job
from dwellwright.service.sheets import listed_sheet
from dwellwright.service.shop_profile import shop_profile
from dwellwright.web.forms import side_of, typed_of
from dwellwright.web.rendering import go_to, page, shop_of, view_of, who_of
from dwellwright.web.stations import STATIONS, shared_values, station_values

router = APIRouter()

JobNumber = Annotated[int, Part(ge=1, le=2**31 - 1)]
"""A job's number as a part of an address; larger than any database counts is no number of a job."""


def station_page(
    request: Request, number: int, name: str, typed: dict[str, str] | None = None, fault: str = ""
) -> Response:
    """One station of a job; with a fault, as it was typed.

    Raises:
        InputFault: no such job.
    """
    view = view_of(request, number)
    state = request.app.state
    key = (name, number, state.revision())
    values: dict[str, Any] = state.stations.get(key, lambda: station_values(state.shop, view, name))
    shared = {
        "base": str(request.base_url),
        "chosen": request.query_params.get("sheet", ""),
        "title": f"Job {number}: {STATIONS[name]}",
        "station": name,
        "typed": typed or {},
        "fault": fault,
    }
    return page(
        request, f"job_{name}.html", {**shared_values(view), **values, **shared}, status=422 if fault else 200
    )


async def posted(
    request: Request, number: int, name: str, done: str, work: Callable[[dict[str, str]], str | None]
) -> Response:
    """Do a form's work and show its station again; a refused form comes back as it was typed.

    Args:
        request: the post.
        number: of the job.
        name: of the station.
        done: key of what the page says afterwards, unless `work` returns another.
        work: what the form asks for.
    """
    typed = await typed_of(request)

    def do() -> Response:
        try:
            said = work(typed)
        except InputFault as fault:
            return station_page(request, number, name, typed, str(fault))
        return go_to(f"/jobs/{number}/{name}", said or done, typed.get("key", ""))

    return await run_in_threadpool(do)


@router.get("/jobs/{number}")
def job(number: JobNumber) -> Response:
    """A job opens at its arrival."""
    return go_to(f"/jobs/{number}/arrival")


@router.get("/jobs/{number}/{name}")
def station(request: Request, number: JobNumber, name: str) -> Response:
    """One station of a job."""
    if name not in STATIONS:
        raise InputFault("no such file of this job", where=f"job {number}", got=repr(name),
                         wanted=", ".join(STATIONS))  # fmt: skip
    return station_page(request, number, name)


@router.post("/jobs/{number}/arrival")
async def correct(request: Request, number: JobNumber) -> Response:
    """Correct the words taken down at arrival, or put the job on another sheet."""

    def work(typed: dict[str, str]) -> None:
        words = {name: typed.get(name, "") for name in ("owner", "car", "complaint")}
        if typed.get("sheet"):
            listed_sheet(shop_of(request), typed["sheet"])
        correct_job(shop_of(request), number, who_of(request), sheet=typed.get("sheet") or None, **words)

    return await posted(request, number, "arrival", "corrected", work)


@router.post("/jobs/{number}/causes")
async def diagnose(request: Request, number: JobNumber) -> Response:
    """Weigh the causes anew."""

    def work(typed: dict[str, str]) -> None:
        memory = typed.get("memory") != "off"
        diagnose_job(shop_of(request), number, who_of(request), side_of(typed), memory=memory)

    return await posted(request, number, "causes", "weighed", work)


@router.post("/jobs/{number}/handover")
async def make_handover(request: Request, number: JobNumber) -> Response:
    """Make the handover sheet; it is kept in the shop."""
    from dwellwright.service.handover import hand_over, paper_named, shop_shown
    from dwellwright.service.job_link import checked_link

    def work(typed: dict[str, str]) -> None:
        shop = shop_of(request)
        profile = shop_profile(shop)
        shown = shop_shown(shop, link=checked_link(typed.get("link", "")))
        with tempfile.TemporaryDirectory() as folder:
            hand_over(shop, number, Path(folder), who_of(request), shown=shown, paper=paper_named(profile.a4))

    return await posted(request, number, "handover", "handover", work)


@router.post("/jobs/{number}/close")
async def end(request: Request, number: JobNumber) -> Response:
    """End a job with the causes that the work confirmed."""

    def work(typed: dict[str, str]) -> None:
        view = view_of(request, number)
        verdict = view.as_found_verdict
        known = verdict.diagnosis["causes"] if verdict else []
        found = [
            {"id": one["id"], "magnitude": one["magnitude"], "unit": one["unit"]}
            for one in known
            if typed.get(f"cause-{one['id']}") == "yes"
        ]
        close_job(shop_of(request), number, found, who_of(request))

    return await posted(request, number, "handover", "closed", work)
