"""Gauges made in the shop: drawings for a job's settings, cards of what was really made, and how they fit."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.gauge_cards import MadeSizes, enter_card, own_gauges, remove_card
from dwellwright.service.gauge_fit import Fit, add_fit, tried_with
from dwellwright.service.shop_gauges import MEDIA, gauge_drawing, gauges_for
from dwellwright.web.forms import number_of, side_of, typed_of
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import go_to, page, shop_of, view_of, who_of
from dwellwright.web.stations import shared_values

router = APIRouter()
UNITS = ("mm", "thou", "in")


def _gauges(request: Request, number: int, typed: dict[str, str], fault: str = "") -> Response:
    shop = shop_of(request)
    view = view_of(request, number)
    sheet, own = view.sheet.sheet, own_gauges(shop)
    drawn = [
        (key, sheet.settings[key], one if not isinstance(one, InputFault) else None, str(one))
        for key, one in gauges_for(sheet).items()
    ]
    values = {
        "title": f"Job {number}: gauges made in the shop", "station": "bench", "drawn": drawn, "own": own,
        "tried": {one.name: tried_with(view, one) for one in own}, "fits": list(Fit), "sides": list(Side),
        "units": UNITS, "typed": typed, "fault": fault,
    }  # fmt: skip
    return page(request, "gauges.html", {**shared_values(view), **values}, status=422 if fault else 200)


@router.get("/jobs/{number}/gauges")
def gauges(request: Request, number: JobNumber) -> Response:
    """Drawings for the job's settings, and the shop's gauges."""
    return _gauges(request, number, {})


@router.get("/jobs/{number}/gauges/{key}.{form}")
def drawing(request: Request, number: JobNumber, key: str, form: str) -> Response:
    """One drawing as a file."""
    view = view_of(request, number)
    if form not in MEDIA:
        raise InputFault("no such file", got=f"{key}.{form}"[:80], wanted=", ".join(MEDIA))
    content = gauge_drawing(view.sheet.sheet, key, form)
    shown = "inline" if form in ("svg", "png") else "attachment"
    return Response(content, media_type=MEDIA[form],
                    headers={"Content-Disposition": f'{shown}; filename="gauge-{key}.{form}"'})  # fmt: skip


async def _posted(
    request: Request, number: int, done: str, work: Callable[[Shop, dict[str, str]], object]
) -> Response:
    typed = await typed_of(request)

    def do() -> Response:
        try:
            work(shop_of(request), typed)
        except InputFault as fault:
            return _gauges(request, number, typed, str(fault))
        return go_to(f"/jobs/{number}/gauges", done, "own")

    return await run_in_threadpool(do)


@router.post("/jobs/{number}/gauges")
async def made(request: Request, number: JobNumber) -> Response:
    """Enter what was really made, or take a gauge off the list."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        who = who_of(request)
        if typed.get("remove"):
            remove_card(shop, typed["remove"], who)
            return
        sizes = {name: number_of(typed, name, words) for name, words in
                 (("short", "short end"), ("long", "long end"), ("doubt", "doubt"))}  # fmt: skip
        for name, value in sizes.items():
            if value is None:
                raise InputFault("the field is blank", where=name, wanted="a size as it was measured")
        short, long, doubt = (value or 0.0 for value in sizes.values())
        card = MadeSizes(short, long, doubt, typed.get("unit") or "mm", typed.get("measured_with", ""))
        sheet = view_of(request, number).sheet.sheet
        enter_card(shop, sheet, typed.get("setting", ""), typed.get("name", ""), card, who)

    return await _posted(request, number, "card", work)


@router.post("/jobs/{number}/gauges/fit")
async def tried(request: Request, number: JobNumber) -> Response:
    """Write down how a gauge fits."""

    def work(shop: Shop, typed: dict[str, str]) -> None:
        add_fit(shop, number, typed.get("gauge", ""), typed.get("fit", ""), side_of(typed), who_of(request))

    return await _posted(request, number, "reading", work)
