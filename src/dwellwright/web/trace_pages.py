"""A drive recording looked at closely: zoomed on the server, so that a million rows open at once."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from dwellwright.service.jobs import job_view
from dwellwright.web.charts import LEFT, RIGHT, WIDTH, Chart, Line, drawn
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import page, shop_of
from dwellwright.web.stations import shared_values

if TYPE_CHECKING:
    from dwellwright.service.trace_view import Column, Stretch

router = APIRouter()
COLUMNS = round(WIDTH - LEFT - RIGHT)
"""Columns of the picture: one for each unit of its grid."""

HEIGHT = 170.0


def seconds_of(text: str) -> float | None:
    """A number of seconds from an address; None where it is none: the picture then shows everything."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return None
    return value if isfinite(value) else None


def _stretch(request: Request, number: int, identity: int) -> tuple[dict[str, Any], Stretch]:
    from dwellwright.service.trace_view import stretch_of, trace_record

    shop = shop_of(request)
    view = job_view(shop, number)
    record = trace_record(view, identity)
    query = request.query_params
    found = stretch_of(
        shop, record, seconds_of(query.get("from", "")), seconds_of(query.get("to", "")), COLUMNS
    )
    return {**shared_values(view), "record": record}, found


def pictures(stretch: Stretch) -> list[Markup]:
    """One drawing for each channel, the last with the time below it."""
    ends = (stretch.begin, stretch.end)
    return [_picture(stretch, one, ends, last=one is stretch.channels[-1]) for one in stretch.channels]


def _picture(stretch: Stretch, one: Column, ends: tuple[float, float], *, last: bool) -> Markup:
    low, high = one.low.tolist(), one.high.tolist()
    known = [value for value in (*low, *high) if isfinite(value)]
    told = f"from {min(known):.4g} to {max(known):.4g}" if known else "no readings"
    words = f"{one.label}, {stretch.begin:.1f} to {stretch.end:.1f} s: {told}"
    line = Line("", "trace", low, high)
    dwell = one.name == "duty"
    return drawn(Chart(one.label, words, stretch.time.tolist(), [line], "seconds" if last else "",
                       (0.0, 60.0) if dwell else None, HEIGHT, ends, 30.0 if dwell else None))  # fmt: skip


@router.get("/jobs/{number}/trace/{identity}")
def closely(request: Request, number: JobNumber, identity: int) -> Response:
    """The recording, or a stretch of it; the ends can be typed, or moved by the page's script."""
    values, found = _stretch(request, number, identity)
    regimes = values["record"].summary["facts"].get("segments", [])
    shown = {"title": f"Job {number}: {values['record'].file.name}", "station": "evidence", "stretch": found,
             "pictures": pictures(found), "segments": regimes}  # fmt: skip
    return page(request, "trace.html", {**values, **shown})


@router.get("/jobs/{number}/trace/{identity}/pictures")
def stretch_pictures(request: Request, number: JobNumber, identity: int) -> Response:
    """Only the drawings of a stretch, for the page's script."""
    _, found = _stretch(request, number, identity)
    ends = {"X-From": f"{found.begin:.6g}", "X-To": f"{found.end:.6g}", "X-Samples": str(found.samples)}
    return HTMLResponse("".join(pictures(found)), headers=ends)
