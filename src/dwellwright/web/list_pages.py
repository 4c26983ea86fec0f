"""Jobs: the list, and taking a new one in; and how the pages look on this device."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.languages.language import LANGUAGES
from dwellwright.service.jobs import list_jobs, take_in_job
from dwellwright.service.known_sheets import sheet_lines
from dwellwright.web.forms import typed_of
from dwellwright.web.rendering import SIGHTS, YEAR, go_to, page, shop_of, who_of

router = APIRouter()


def _listed(request: Request, typed: dict[str, str], fault: str = "") -> Response:
    shop = shop_of(request)
    jobs = list_jobs(shop)
    values = {
        "title": "Jobs", "open": [one for one in jobs if one.closed is None],
        "ended": [one for one in jobs if one.closed is not None], "sheets": sheet_lines(shop), "typed": typed,
        "fault": fault,
    }  # fmt: skip
    return page(request, "jobs.html", values, status=422 if fault else 200)


@router.get("/")
def jobs(request: Request) -> Response:
    """The list of jobs; a sheet may be chosen already."""
    return _listed(request, {"sheet": request.query_params.get("sheet", "")})


@router.post("/jobs")
async def take_in(request: Request) -> Response:
    """Take a job in; what was typed is kept when a field is refused."""
    typed = await typed_of(request)

    def work() -> Response:
        fields = {name: typed.get(name, "") for name in ("owner", "car", "complaint", "sheet")}
        try:
            view = take_in_job(shop_of(request), **fields, who=who_of(request))
        except InputFault as fault:
            return _listed(request, typed, str(fault))
        return go_to(f"/jobs/{view.job.number}/evidence", "taken")

    return await run_in_threadpool(work)


@router.post("/sight")
async def change_sight(request: Request) -> Response:
    """Change how the pages look and in which language they speak, and come back."""
    typed = await typed_of(request)
    back = typed.get("back", "/")
    plain = back.startswith("/") and not back.startswith(("//", "/\\"))
    answer = go_to(back if plain else "/")
    chosen = typed.get("sight", "auto")
    sight = chosen if chosen in SIGHTS else "auto"
    answer.set_cookie("sight", sight, max_age=YEAR, samesite="strict", httponly=True)
    if typed.get("language", "") in LANGUAGES:
        answer.set_cookie("language", typed["language"], max_age=YEAR, samesite="strict", httponly=True)
    return answer
