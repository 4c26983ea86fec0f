"""Tests with a response: hazard first, then the steps, then what was read before and during."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from markupsafe import Markup

from dwellwright.errors import InputFault
from dwellwright.records.stages import Side
from dwellwright.service.jobs import JobView
from dwellwright.service.presentation import REGIME_LABELS
from dwellwright.service.responses import (
    add_response,
    answers_moving,
    answers_plot,
    offered_tests,
    responses_of,
)
from dwellwright.web.evidence_pages import SCALES, on_six
from dwellwright.web.forms import numbers_of, side_of, typed_of
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.moving_plots import moving
from dwellwright.web.rendering import go_to, page, picture, shop_of, view_of, who_of
from dwellwright.web.stations import shared_values

router = APIRouter()


def _responses(request: Request, number: int, typed: dict[str, str], fault: str = "") -> Response:
    view = view_of(request, number)
    values = {
        "title": f"Job {number}: tests with a response", "station": "evidence", "lines": offered_tests(),
        "answers": responses_of(view), "regime_words": {one.value: words for one, words in REGIME_LABELS.items()},
        "sides": list(Side), "scales": SCALES, "typed": typed, "fault": fault, "plot": _drawn(view),
    }  # fmt: skip
    return page(request, "responses.html", {**shared_values(view), **values}, status=422 if fault else 200)


def _drawn(view: JobView) -> Markup:
    """The answers of a job; nothing where it has none."""
    from dwellwright.reports.plots.look import Format

    figures = answers_moving(view)
    return moving(picture(answers_plot(view, Format.SVG)), figures) if figures else Markup("")


@router.get("/jobs/{number}/responses")
def responses(request: Request, number: JobNumber) -> Response:
    """The tests, and what they answered in this job."""
    return _responses(request, number, {})


@router.post("/jobs/{number}/responses")
async def answered(request: Request, number: JobNumber) -> Response:
    """Write an answer down."""
    typed = await typed_of(request)

    def do() -> Response:
        try:
            before, during = (_read(typed, name) for name in ("before", "during"))
            side, who = side_of(typed), who_of(request)
            add_response(shop_of(request), number, typed.get("test", ""), before, during, side, who)
        except InputFault as fault:
            return _responses(request, number, typed, str(fault))
        return go_to(f"/jobs/{number}/responses", "reading", "answers")

    return await run_in_threadpool(do)


def _read(typed: dict[str, str], name: str) -> list[float]:
    """Repeats of one field; dwell on the six-cylinder scale."""
    values = numbers_of(typed, name, name)
    return [on_six(value, typed) for value in values] if typed.get("unit") == "deg" else values
