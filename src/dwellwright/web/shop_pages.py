"""The shop: who works in it, its own instruments, its name on papers, and a copy of everything to keep elsewhere."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from urllib.parse import quote

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse
from starlette.background import BackgroundTask

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service.backups import write_backup
from dwellwright.service.costs import money_of
from dwellwright.service.jobs import list_jobs
from dwellwright.service.shop_profile import (
    add_instrument,
    add_person,
    instrument_labels,
    remove_instrument,
    remove_person,
    save_prices,
    save_shop,
    shop_profile,
)
from dwellwright.web.forms import number_of, typed_of
from dwellwright.web.rendering import YEAR, go_to, page, shop_of, who_of

router = APIRouter()


def _shop_page(request: Request, typed: dict[str, str], fault: str = "") -> Response:
    shop = shop_of(request)
    values = {
        "title": "Shop", "profile": shop_profile(shop), "who": who_of(request), "kinds": instrument_labels(),
        "today": date.today(), **_instruments(shop),
        "jobs": len(list_jobs(shop)), "folder": shop.folder, "typed": typed, "fault": fault,
    }  # fmt: skip
    return page(request, "shop.html", values, status=422 if fault else 200)


def _instruments(shop: Shop) -> dict[str, object]:
    from dwellwright.service.calibrations import calibrated_instruments, calibration_history, line_words

    kept = [(one, line_words(one)) for one in reversed(calibration_history(shop))]
    return {"instruments": calibrated_instruments(shop), "kept": kept}


@router.get("/shop")
def shown(request: Request) -> Response:
    """The shop."""
    return _shop_page(request, {})


async def _posted(request: Request, work: Callable[[Shop, dict[str, str]], object], anchor: str) -> Response:
    typed = await typed_of(request)

    def do() -> Response:
        try:
            work(shop_of(request), typed)
        except InputFault as fault:
            return _shop_page(request, typed, str(fault))
        return go_to("/shop", "shop", anchor)

    return await run_in_threadpool(do)


@router.post("/shop")
async def rename(request: Request) -> Response:
    """Name the shop as papers print it."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        save_shop(
            shop, typed.get("name", ""), typed.get("lines", "").splitlines(), a4=typed.get("paper") == "a4"
        )

    return await _posted(request, work, "papers")


@router.post("/shop/prices")
async def prices(request: Request) -> Response:
    """Say what prices are written in, and what an hour of work costs."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        save_prices(shop, typed.get("currency", ""), money_of(typed.get("hourly", ""), "an hour of work"))

    return await _posted(request, work, "papers")


@router.post("/shop/people")
async def people(request: Request) -> Response:
    """Add somebody to the shop, or take a name off the list."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        change = remove_person if typed.get("remove") else add_person
        change(shop, typed.get("remove") or typed.get("person", ""))

    return await _posted(request, work, "people")


@router.post("/shop/instruments")
async def instruments(request: Request) -> Response:
    """Add an instrument or a new calibration of it, or take it off the list."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        if typed.get("remove"):
            remove_instrument(shop, typed.get("kind", ""), typed["remove"])
            return
        add_instrument(shop, typed.get("kind", ""), typed.get("mark", ""), typed.get("calibrated", ""),
                       number_of(typed, "months", "months between calibrations"))  # fmt: skip

    return await _posted(request, work, "instruments")


@router.post("/shop/calibrations/undo")
async def undo_calibration(request: Request) -> Response:
    """Take back the last calibration of an instrument."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        from dwellwright.service.calibrations import take_back_calibration

        take_back_calibration(shop, typed.get("tool", ""), who_of(request))

    return await _posted(request, work, "instruments")


@router.post("/shop/who")
async def at_work(request: Request) -> Response:
    """Say who is at work on this device; the audit trail names that person."""
    chosen = (await typed_of(request)).get("who", "")
    answer = go_to("/shop", "who", "people")
    if chosen in shop_profile(shop_of(request)).people:
        answer.set_cookie("who", quote(chosen), max_age=YEAR, samesite="strict", httponly=True)
    else:
        answer.delete_cookie("who")
    return answer


@router.post("/shop/backup")
def backup(request: Request) -> Response:
    """The whole shop as one archive."""
    with tempfile.NamedTemporaryFile(prefix="dwellwright-", suffix=".zip", delete=False) as place:
        path = Path(place.name)
    try:
        write_backup(shop_of(request), path)
    except InputFault as fault:
        path.unlink()
        return _shop_page(request, {}, str(fault))
    name = f"dwellwright-{date.today().isoformat()}.zip"
    return FileResponse(
        path, media_type="application/zip", filename=name, background=BackgroundTask(path.unlink)
    )
