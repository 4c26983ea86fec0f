"""Help: how a job goes, and what can hurt."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from dwellwright.web.rendering import page

router = APIRouter()


@router.get("/help")
def help_page(request: Request) -> Response:
    """How a job goes, and the cautions."""
    return page(request, "help.html", {"title": "Help and cautions"})
