"""Naming the columns of a recording once; the shop remembers it by the header."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.service.column_maps import header_of, keep_columns, proposed_rows
from dwellwright.service.evidence import read_renamed
from dwellwright.web.forms import Form, form_of
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import go_to, page, shop_of, view_of, who_of
from dwellwright.web.stations import shared_values
from dwellwright.web.uploads import LARGEST_RECORDING, copied

router = APIRouter()


def _columns(
    request: Request,
    number: int,
    header: Sequence[str] = (),
    typed: dict[str, str] | None = None,
    fault: str = "",
) -> Response:
    view = view_of(request, number)
    values = {"title": f"Job {number}: columns of a recording", "station": "evidence", "header": list(header),
              "rows": proposed_rows(header) if header else [], "kept_header": json.dumps(list(header)),
              "typed": typed or {}, "fault": fault}  # fmt: skip
    return page(request, "columns.html", {**shared_values(view), **values}, status=422 if fault else 200)


@router.get("/jobs/{number}/columns")
def columns(request: Request, number: JobNumber) -> Response:
    """Where a recording is sent to have its columns named."""
    return _columns(request, number)


@router.post("/jobs/{number}/columns")
async def named(request: Request, number: JobNumber) -> Response:
    """A recording whose header is to be looked at, or the columns as they were named."""
    async with form_of(request) as form:
        return await run_in_threadpool(_named, request, number, form)


def _named(request: Request, number: int, form: Form) -> Response:
    header: list[str] = []
    try:
        if files := form.chosen("file"):
            with tempfile.TemporaryDirectory() as folder:
                return _columns(request, number, header_of(copied(files[0], Path(folder), LARGEST_RECORDING)))
        header = _header(form.typed.get("header", ""))
        uses = {
            one.channel: (
                form.typed.get(f"column-{one.channel}", ""),
                form.typed.get(f"unit-{one.channel}", ""),
            )
            for one in proposed_rows(header)
        }
        chosen = {channel: use for channel, use in uses.items() if use[0]}
        shop, who = shop_of(request), who_of(request)
        again = read_renamed(shop, number, keep_columns(shop, header, chosen, who), who)
    except InputFault as fault:
        return _columns(request, number, header, form.typed, str(fault))
    return go_to(f"/jobs/{number}/evidence", "renamed" if again else "columns")


def _header(text: str) -> list[str]:
    try:
        found = json.loads(text) if text else []
    except (ValueError, RecursionError):
        found = []
    if not isinstance(found, list) or not found or not all(isinstance(one, str) for one in found):
        raise InputFault("there is no recording", where="file", wanted="a drive recording with a header")
    return found
