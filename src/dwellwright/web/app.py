"""The workbench's web application: what every page shares, and how faults are answered."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from http import HTTPStatus
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from fastapi.telemetry import TelemetryConfig
from starlette.exceptions import HTTPException

from dwellwright.errors import InputFault
from dwellwright.service.revision import Revision
from dwellwright.service.shop import open_shop, person_at_work
from dwellwright.web import (
    bench_sheet_pages,
    case_pages,
    column_pages,
    cost_pages,
    evidence_pages,
    gas_pages,
    gauge_pages,
    gauge_tool_pages,
    help_pages,
    instrument_pages,
    job_pages,
    list_pages,
    measuring_pages,
    meter_pages,
    moving_plots,
    offline_pages,
    paper_pages,
    photo_pages,
    response_pages,
    sheet_pages,
    shop_pages,
    sound_pages,
    step_pages,
    trace_pages,
    what_if_pages,
)
from dwellwright.web.guard import LARGEST_BODY, Guard, too_large
from dwellwright.web.kept_pages import KeptPages
from dwellwright.web.language import Speaking
from dwellwright.web.remembered import Remembered
from dwellwright.web.rendering import fault_page, no_such_job, page
from dwellwright.web.unit_layer import UnitLayer

HERE = Path(__file__).parent

MOST_VIEWS = 12
"""Jobs kept in memory as they were last read."""

SILENT: TelemetryConfig = {
    "tracing": False,
    "metrics": False,
    "logs": False,
    "operation_spans": False,
    "auto_configure": False,
}
"""The framework's own reporting, all off: nothing leaves this machine."""

PAGES = (
    list_pages, measuring_pages, gauge_pages, gauge_tool_pages, response_pages, gas_pages, column_pages, paper_pages,
    evidence_pages, bench_sheet_pages, photo_pages, case_pages, cost_pages, instrument_pages, trace_pages,
    sound_pages, step_pages,
    job_pages, sheet_pages, what_if_pages, meter_pages, shop_pages, help_pages, offline_pages,
)  # fmt: skip
"""Job pages come after those of a job's parts: the name of a station is the last part of any address."""


def build_app(folder: Path | None = None, database: str | None = None, who: str | None = None) -> FastAPI:
    """The application on one shop.

    Args:
        folder: shop folder; the default one where None.
        database: address of a PostgreSQL database, if not SQLite.
        who: named in the audit trail.

    Raises:
        InputFault: the shop cannot be opened.
    """
    shop = open_shop(folder, database)
    revision = Revision(shop)

    @asynccontextmanager
    async def until_stopped(app: FastAPI) -> AsyncIterator[None]:
        yield
        for recorder in app.state.recorders.values():
            recorder.stop()
        revision.close()

    app = FastAPI(
        title="Dwellwright",
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        telemetry=SILENT,
        max_body_size=LARGEST_BODY,
        lifespan=until_stopped,
    )
    app.state.shop, app.state.revision = shop, revision
    app.state.views, app.state.stations = Remembered(MOST_VIEWS), Remembered(4 * MOST_VIEWS)
    app.state.who = person_at_work(who)
    app.state.recorders = {}
    app.include_router(moving_plots.router)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for pages in PAGES:
        app.include_router(pages.router)
    app.add_middleware(UnitLayer)
    app.add_middleware(KeptPages, revision=revision)
    app.add_middleware(Guard)
    app.add_middleware(Speaking)
    app.exception_handler(InputFault)(_refused)
    app.exception_handler(RequestValidationError)(_odd_address)
    app.exception_handler(HTTPException)(_unanswered)
    return app


async def _refused(request: Request, fault: Exception) -> Response:
    """A fault that no page kept for itself: 422, or 404 where there is no such thing, in the same words."""
    missing = str(fault).startswith(
        ("no such job", "no such spec sheet", "no such file", "no such instrument")
    )
    return fault_page(request, fault, status=404 if missing else 422)


async def _odd_address(request: Request, fault: Exception) -> Response:
    """An address whose number is none: nothing lies there."""
    number = request.path_params.get("number")
    if number is not None:
        return fault_page(request, no_such_job(str(number)[:40]), status=404)
    return fault_page(request, InputFault("the address is not understood"), status=404)


async def _unanswered(request: Request, fault: Exception) -> Response:
    """What the framework itself refuses, as a page of the workbench."""
    status = fault.status_code if isinstance(fault, HTTPException) else 500
    if status == HTTPStatus.NOT_FOUND:
        return page(
            request, "fault.html", {"title": "Not here", "fault": "There is no such page."}, status=status
        )
    if status == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
        return fault_page(request, too_large("what was sent", LARGEST_BODY + 1, LARGEST_BODY), status=status)
    if status == HTTPStatus.BAD_REQUEST:
        detail = getattr(fault, "detail", "")
        return fault_page(request, InputFault("the form cannot be read", got=str(detail)), status=422)
    other = InputFault("the page cannot be had this way", got=HTTPStatus(status).phrase)
    return fault_page(request, other, status=status)
