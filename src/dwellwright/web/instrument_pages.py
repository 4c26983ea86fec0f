"""Instruments that speak in lines of text: describing them, and recording what they say into a job."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse

from dwellwright.errors import InputFault
from dwellwright.records.stages import Side
from dwellwright.service.live_into_job import ITEMS, draft_path, drafts, new_recorder, take_reading, taken_in
from dwellwright.service.live_recording import SHOWN, Progress, Recorder, thrown_away
from dwellwright.service.own_instruments import (
    checked_address,
    example_description,
    line_instrument,
    line_instruments,
    remove_line_instrument,
    save_line_instrument,
)
from dwellwright.service.presentation import REGIME_LABELS
from dwellwright.web.forms import regime_of, side_of, typed_of
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import go_to, page, shop_of, view_of, who_of
from dwellwright.web.stations import shared_values

router = APIRouter()
MOST_AT_ONCE = 4
"""Recordings at the same time; each is a thread."""

TAKEN_OVER = 15.0
"""Seconds whose mean is taken as a reading."""


def recorders_of(request: Request) -> dict[int, Recorder]:
    """The recordings that run, by job."""
    found: dict[int, Recorder] = request.app.state.recorders
    return found


# ------------------------------------------------------------------------------------------ descriptions


def _listed(request: Request, typed: dict[str, str], fault: str = "") -> Response:
    found = line_instruments(shop_of(request))
    chosen = next((one for one in found if one.name == request.query_params.get("name")), None)
    text = chosen.text if chosen else example_description()
    values = {"title": "Line instruments", "found": found, "fault": fault,
              "typed": {"name": chosen.name if chosen else "", "text": text, **typed}}  # fmt: skip
    return page(request, "instruments.html", values, status=422 if fault else 200)


@router.get("/instruments")
def instruments(request: Request) -> Response:
    """Every described instrument, and describing another."""
    return _listed(request, {})


@router.post("/instruments")
async def describe(request: Request) -> Response:
    """Keep a description, or take one away."""
    typed = await typed_of(request)

    def work() -> Response:
        shop = shop_of(request)
        try:
            if typed.get("remove"):
                remove_line_instrument(shop, typed["remove"])
            else:
                save_line_instrument(shop, typed.get("name", "").strip(), typed.get("text", ""))
        except InputFault as fault:
            return _listed(request, typed, str(fault))
        return go_to("/instruments", "shop")

    return await run_in_threadpool(work)


# ---------------------------------------------------------------------------------------------- recording


def told(seen: Progress) -> list[dict[str, str]]:
    """The newest value of every channel, ready to be shown."""
    return [{"key": name, "label": name.replace("_", " ") if name not in ("co", "co2", "o2", "hc") else name.upper(),
             "value": f"{value:.{SHOWN[name][2]}f}", "unit": SHOWN[name][1].replace("degC", "°C")}
            for name, value in seen.values.items()]  # fmt: skip


def _live_page(request: Request, number: int, typed: dict[str, str], fault: str = "") -> Response:
    shop = shop_of(request)
    view = view_of(request, number)
    recorder = recorders_of(request).get(number)
    seen = recorder.progress() if recorder else None
    own = recorder.path.name if recorder else ""
    values: dict[str, Any] = {
        **shared_values(view), "title": f"Job {number}: Line instrument", "station": "", "seen": seen,
        "told": told(seen) if seen else [], "recorder": recorder, "found": line_instruments(shop), "typed": typed,
        "takeable": ITEMS, "sides": list(Side), "regimes": REGIME_LABELS, "fault": fault,
        "drafts": [one for one in drafts(shop, number) if one != own],
    }  # fmt: skip
    return page(request, "job_live.html", values, status=422 if fault else 200)


@router.get("/jobs/{number}/live")
def live(request: Request, number: JobNumber) -> Response:
    """Choosing an instrument, or what the one that is recorded says."""
    return _live_page(request, number, {})


@router.get("/jobs/{number}/live/now")
def newest(request: Request, number: JobNumber) -> Response:
    """The newest values, for the page's script."""
    recorder = recorders_of(request).get(number)
    if recorder is None:
        return JSONResponse({"running": False})
    seen = recorder.progress()
    return JSONResponse({"running": seen.running, "rows": seen.rows, "seconds": round(seen.seconds, 1), "odd": seen.odd,
                         "values": told(seen), "line": seen.last_line, "fault": seen.fault})  # fmt: skip


@router.post("/jobs/{number}/live")
async def command(request: Request, number: JobNumber) -> Response:
    """Begin, take a reading, or end: by the button that was pressed."""
    typed = await typed_of(request)

    def work() -> Response:
        deeds = {"begin": _begin, "take": _take, "end": _end, "draft": _draft, "drop": _drop}
        try:
            deed = deeds.get(typed.get("do", ""))
            if deed is None:
                raise InputFault("no button of this page was pressed", got=repr(typed.get("do", "")[:40]))
            return deed(request, number, typed)
        except InputFault as fault:
            return _live_page(request, number, typed, str(fault))

    return await run_in_threadpool(work)


def _begin(request: Request, number: int, typed: dict[str, str]) -> Response:
    shop, running = shop_of(request), recorders_of(request)
    if number in running:
        raise InputFault("this job is being recorded already", remedy="End that recording first")
    if len(running) >= MOST_AT_ONCE:
        raise InputFault("too many recordings run at once", wanted=f"at most {MOST_AT_ONCE}")
    found = line_instrument(shop, typed.get("name", ""))
    address = checked_address(found, typed.get("address", ""))
    recorder = new_recorder(shop, number, typed["name"], found, address)
    recorder.start()
    running[number] = recorder
    return go_to(f"/jobs/{number}/live", "listening")


def _running(request: Request, number: int) -> Recorder:
    recorder = recorders_of(request).get(number)
    if recorder is None:
        raise InputFault("nothing is being recorded for this job", remedy="Begin first")
    return recorder


def _take(request: Request, number: int, typed: dict[str, str]) -> Response:
    take_reading(shop_of(request), number, _running(request, number), typed.get("channel", ""), TAKEN_OVER,
                 regime_of(typed), side_of(typed), who_of(request))  # fmt: skip
    return go_to(f"/jobs/{number}/live", "reading")


def _end(request: Request, number: int, typed: dict[str, str]) -> Response:
    recorder = _running(request, number)
    recorder.stop()
    del recorders_of(request)[number]
    taken_in(shop_of(request), number, recorder.path, side_of(typed), who_of(request), regime_of(typed))
    return go_to(f"/jobs/{number}/evidence", "files", "files-read")


def _draft(request: Request, number: int, typed: dict[str, str]) -> Response:
    shop = shop_of(request)
    path = draft_path(shop, number, typed.get("name", ""))
    taken_in(shop, number, path, side_of(typed), who_of(request), regime_of(typed))
    return go_to(f"/jobs/{number}/evidence", "files", "files-read")


def _drop(request: Request, number: int, typed: dict[str, str]) -> Response:
    thrown_away(draft_path(shop_of(request), number, typed.get("name", "")))
    return go_to(f"/jobs/{number}/live", "dropped")
