"""A stretch of a recording in a page: its ends as they were asked for, and the answer to the page's script."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from fastapi import Request
from fastapi.responses import HTMLResponse

if TYPE_CHECKING:
    from dwellwright.service.stretches import Stretch


def asked_ends(request: Request) -> tuple[float | None, float | None]:
    """Begin and end of the stretch that an address asks for; None where it names none. [s]"""
    query = request.query_params
    return seconds_of(query.get("from", "")), seconds_of(query.get("to", ""))


def seconds_of(text: str) -> float | None:
    """A number of seconds from an address; None where it is none: the picture then shows everything."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return None
    return value if isfinite(value) else None


def drawn_stretch(drawing: str, found: Stretch) -> HTMLResponse:
    """Only the drawing of a stretch, with its ends, for the page's script."""
    ends = {"X-From": f"{found.begin:.6g}", "X-To": f"{found.end:.6g}", "X-Samples": str(found.samples)}
    return HTMLResponse(drawing, headers=ends)
