"""The workbench's web application: what every page shares, and how faults are answered."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path
from urllib.parse import urlsplit

from fastapi import FastAPI, Request, Response
from fastapi.staticfiles import StaticFiles
from fastapi.telemetry import TelemetryConfig

from dwellwright.errors import InputFault
from dwellwright.service.shop import open_shop, person_at_work
from dwellwright.web import help_pages, job_pages, list_pages, sheet_pages, what_if_pages
from dwellwright.web.rendering import fault_page, page

HERE = Path(__file__).parent
LARGEST_BODY = 300_000_000
"""Bytes of one post: an hour of sound with room to spare."""

SILENT: TelemetryConfig = {
    "tracing": False,
    "metrics": False,
    "logs": False,
    "operation_spans": False,
    "auto_configure": False,
}
"""The framework's own reporting, all off: nothing leaves this machine."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; object-src 'none'; "
        "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), camera=(self), microphone=(self)",
}
"""Nothing is loaded from elsewhere, and no page can be put into a frame of another."""


def build_app(folder: Path | None = None, database: str | None = None, who: str | None = None) -> FastAPI:
    """The application on one shop.

    Args:
        folder: shop folder; the default one where None.
        database: address of a PostgreSQL database, if not SQLite.
        who: named in the audit trail.

    Raises:
        InputFault: the shop cannot be opened.
    """
    app = FastAPI(
        title="Dwellwright",
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        telemetry=SILENT,
        max_body_size=LARGEST_BODY,
    )
    app.state.shop = open_shop(folder, database)
    app.state.who = person_at_work(who)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for pages in (list_pages, job_pages, sheet_pages, what_if_pages, help_pages):
        app.include_router(pages.router)
    app.middleware("http")(_guarded)
    app.exception_handler(InputFault)(_refused)
    app.exception_handler(404)(_missing)
    return app


async def _guarded(request: Request, call_next: Callable[[Request], Awaitable[Response]]) -> Response:
    """Refuse posts that come from another site, and set the headers of every answer."""
    if request.method not in ("GET", "HEAD") and not _from_here(request):
        fault = InputFault(
            "this form was sent from another site",
            wanted="a form of this workbench",
            got=request.headers.get("origin", "no origin"),
            remedy="Open the page here and try again",
        )
        response: Response = fault_page(request, fault, status=403)
    else:
        response = await call_next(request)
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    return response


def _from_here(request: Request) -> bool:
    origin = request.headers.get("origin") or request.headers.get("referer")
    if not origin:
        return True  # a program on this machine, not a browser
    return urlsplit(origin).netloc == request.headers.get("host", "")


async def _refused(request: Request, fault: Exception) -> Response:
    """A fault that no page kept for itself: 422, or 404 where there is no such thing, in the same words."""
    words = str(fault)
    missing = words.startswith(("no such job", "no such spec sheet", "no such file"))
    return fault_page(request, fault, status=404 if missing else 422)


async def _missing(request: Request, fault: Exception) -> Response:
    return page(request, "fault.html", {"title": "Not here", "fault": "There is no such page."}, status=404)
