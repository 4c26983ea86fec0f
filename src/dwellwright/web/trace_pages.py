"""A drive recording looked at closely: zoomed on the server, so that a million rows open at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from fastapi import APIRouter, Request, Response
from markupsafe import Markup

from dwellwright.service.file_kind import FileKind
from dwellwright.service.stretches import recording_of
from dwellwright.web.charts import LEFT, RIGHT, WIDTH, Chart, Line, drawn
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import page, shop_of, view_of
from dwellwright.web.stations import shared_values
from dwellwright.web.stretches import asked_ends, drawn_stretch

if TYPE_CHECKING:
    from dwellwright.service.trace_view import Column, TraceStretch

router = APIRouter()
COLUMNS = round(WIDTH - LEFT - RIGHT)
"""Columns of the picture: one for each unit of its grid."""

HEIGHT = 170.0


def _stretch(request: Request, number: int, identity: int) -> tuple[dict[str, Any], TraceStretch]:
    from dwellwright.service.trace_view import stretch_of

    shop, view = shop_of(request), view_of(request, number)
    record = recording_of(view, identity, FileKind.TRACE)
    return {**shared_values(view), "record": record}, stretch_of(shop, record, *asked_ends(request), COLUMNS)


def pictures(stretch: TraceStretch) -> list[Markup]:
    """One drawing for each channel, the last with the time below it."""
    ends = (stretch.begin, stretch.end)
    return [_picture(stretch, one, ends, last=one is stretch.channels[-1]) for one in stretch.channels]


def _picture(stretch: TraceStretch, one: Column, ends: tuple[float, float], *, last: bool) -> Markup:
    known = np.isfinite(one.low) & np.isfinite(one.high)
    told = f"from {one.low[known].min():.4g} to {one.high[known].max():.4g}" if known.any() else "no readings"
    words = f"{one.label}, {stretch.begin:.1f} to {stretch.end:.1f} s: {told}"
    line = Line("", "trace", one.low, one.high)
    dwell = one.name == "duty"
    return drawn(Chart(one.label, words, stretch.time, [line], "seconds" if last else "",
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
    return drawn_stretch("".join(pictures(found)), found)
