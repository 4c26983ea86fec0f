"""The live meter: the solenoid's wire, through a divider, into this device's own sound input."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.records.stages import Side
from dwellwright.service.divider import DIODE_DROP, Divider, divider, resistor_words
from dwellwright.service.jobs import list_jobs
from dwellwright.service.presentation import REGIME_LABELS
from dwellwright.service.readings import add_reading
from dwellwright.web.evidence_pages import SCALES, on_six
from dwellwright.web.forms import number_of, numbers_of, regime_of, side_of, typed_of
from dwellwright.web.rendering import go_to, no_such_job, page, shop_of, who_of

router = APIRouter()

FIELDS = (
    ("supply", "Supply with the engine running", "V", 14.5), ("spike", "Spike at the release", "V", 100.0),
    ("limit", "Most the sound input takes", "V", 1.0), ("resistance", "Resistance of the input", "kΩ", 10.0),
)  # fmt: skip
"""What the divider is worked out from: name, label, unit, usual value. Usual values are assumed."""


def _divider(values: dict[str, str]) -> Divider:
    given = [number_of(values, name, label) for name, label, _, _ in FIELDS]
    supply, spike, limit, kilo = (
        usual if one is None else one for one, (*_, usual) in zip(given, FIELDS, strict=True)
    )
    return divider(supply, spike, limit, 1e3 * kilo)


def _meter_page(request: Request, typed: dict[str, str], fault: str = "") -> Response:
    try:
        made = _divider(typed)
    except InputFault as refused:
        made, fault = divider(), fault or str(refused)
    jobs = [one for one in list_jobs(shop_of(request)) if one.closed is None]
    values: dict[str, Any] = {
        "title": "Live meter", "made": made, "ohms": resistor_words, "drop": DIODE_DROP, "fields": FIELDS, "jobs": jobs,
        "scales": SCALES, "sides": list(Side), "regimes": REGIME_LABELS, "typed": typed, "fault": fault,
    }  # fmt: skip
    return page(request, "meter.html", values, status=422 if fault else 200)


@router.get("/meter")
def meter(request: Request) -> Response:
    """The meter, its wiring, and writing down what it shows."""
    return _meter_page(request, dict(request.query_params))


@router.post("/meter")
async def log(request: Request) -> Response:
    """Write down what the meter shows as a reading of a job."""
    typed = await typed_of(request)

    def work() -> Response:
        try:
            number = typed.get("job", "")
            if not (number.isascii() and number.isdigit()) or len(number) > 9:
                raise no_such_job(number or "not chosen")
            values = [on_six(value, typed) for value in numbers_of(typed, "repeats", "dwell")]
            add_reading(shop_of(request), int(number), "dwell", values, "deg", side_of(typed), who_of(request),
                        regime=regime_of(typed))  # fmt: skip
        except InputFault as fault:
            return _meter_page(request, typed, str(fault))
        return go_to(f"/jobs/{number}/evidence", "reading", "readings")

    return await run_in_threadpool(work)
