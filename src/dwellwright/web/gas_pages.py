"""The exhaust gas of a job looked at closely: air ratio two ways, dilution, what it points to, idle limits."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request, Response
from markupsafe import Markup

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Regime
from dwellwright.languages.language import spoken
from dwellwright.service.evidence import evidence_file
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.moving_plots import moving
from dwellwright.web.remembered import Remembered
from dwellwright.web.rendering import page, picture, shop_of, view_of
from dwellwright.web.stations import shared_values

if TYPE_CHECKING:
    from dwellwright.evidence.gas.air_ratio import GasOptions
    from dwellwright.service.gas_verdict import GasVerdict

router = APIRouter()
_SEEN: Remembered[tuple[GasVerdict, Markup | None]] = Remembered()
CHOSEN = ("fuel", "analyzer", "factor")
USUAL = {"fuel": "gasoline", "analyzer": "class_1", "factor": "6"}


@router.get("/jobs/{number}/gas")
def gas(request: Request, number: JobNumber) -> Response:
    """Every gas reading of a job, with the options of the query."""
    from dwellwright.service.gas_verdict import chosen_options, gas_choices

    shop = shop_of(request)
    view = view_of(request, number)
    typed = {name: request.query_params.get(name, "") or USUAL[name] for name in CHOSEN}
    fault, found = "", []
    try:
        options = chosen_options(**typed)
        for record in (one for one in view.evidence if one.kind == "gas"):
            told = Regime(record.summary["facts"].get("place_told") or Regime.IDLE)
            key = (str(shop.folder), record.file.sha256, told, spoken(), *typed.values())
            seen, drawn = _SEEN.get(key, partial(_looked_at, evidence_file(shop, record), options, told))
            found.append((record, seen, drawn))
    except InputFault as refused:
        fault = str(refused)
    values = {"title": f"Job {number}: exhaust gas", "station": "evidence", "found": found,
              "choices": gas_choices(), "typed": typed, "fault": fault}  # fmt: skip
    return page(request, "gas.html", {**shared_values(view), **values}, status=422 if fault else 200)


def _looked_at(path: Path, options: GasOptions, told: Regime) -> tuple[GasVerdict, Markup | None]:
    """What a gas table says, and its picture where it says anything."""
    from dwellwright.reports.plots.look import Format
    from dwellwright.service.gas_verdict import gas_verdict

    seen = gas_verdict(path, options, told)
    if not any(one.numbers for one in seen.lines):
        return seen, None
    drawn = moving(picture(seen.plot(Format.SVG)), seen.moving())
    over_time = seen.over_time(Format.SVG)
    return seen, (moving(picture(over_time), seen.moving_over_time()) if over_time else Markup("")) + drawn
