"""The exhaust gas of a job looked at closely: air ratio two ways, dilution, what it points to, idle limits."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from dwellwright.errors import InputFault
from dwellwright.service.evidence import evidence_file
from dwellwright.service.jobs import job_view
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import page, picture, shop_of
from dwellwright.web.stations import shared_values

router = APIRouter()
CHOSEN = ("fuel", "analyzer", "factor")
USUAL = {"fuel": "gasoline", "analyzer": "class_1", "factor": "6"}


@router.get("/jobs/{number}/gas")
def gas(request: Request, number: JobNumber) -> Response:
    """Every gas reading of a job, with the options of the query."""
    from dwellwright.reports.plots.look import Format
    from dwellwright.service.gas_verdict import chosen_options, gas_choices, gas_verdict

    shop = shop_of(request)
    view = job_view(shop, number)
    typed = {name: request.query_params.get(name, "") or USUAL[name] for name in CHOSEN}
    fault, found = "", []
    try:
        options = chosen_options(**typed)
        for record in (one for one in view.evidence if one.kind == "gas"):
            seen = gas_verdict(evidence_file(shop, record), options)
            drawn = picture(seen.plot(Format.SVG)) if any(one.numbers for one in seen.lines) else None
            found.append((record, seen, drawn))
    except InputFault as refused:
        fault = str(refused)
    values = {"title": f"Job {number}: exhaust gas", "station": "evidence", "found": found,
              "choices": gas_choices(), "typed": typed, "fault": fault}  # fmt: skip
    return page(request, "gas.html", {**shared_values(view), **values}, status=422 if fault else 200)
