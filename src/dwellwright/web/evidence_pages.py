"""The evidence of a job: files that are sent, readings and gas that are typed in, and taking the last one back."""

from __future__ import annotations

import tempfile
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform.types import Polarity
from dwellwright.service.evidence import AddedEvidence, add_evidence, answer_place, answer_polarity
from dwellwright.service.gas_readings import COLUMNS, add_gas
from dwellwright.service.readings import add_reading, take_back_reading
from dwellwright.service.typed_items import usual_unit
from dwellwright.units import duty_of_dwell, dwell_degrees
from dwellwright.web.forms import Form, form_of, number_of, numbers_of, regime_of, side_of
from dwellwright.web.job_pages import JobNumber, posted, station_page
from dwellwright.web.rendering import go_to, shop_of, who_of
from dwellwright.web.unit_choice import unit_choice
from dwellwright.web.uploads import evidence_copied

router = APIRouter()
SCALES = (4, 6, 8)
"""Cylinder scales of a dwell meter."""

DUTY = "duty"
"""The scale of a meter that shows percent of the time."""


@router.post("/jobs/{number}/files")
async def add_files(request: Request, number: JobNumber) -> Response:
    """Add evidence files; each is taken whole or refused whole."""
    async with form_of(request) as form:
        return await run_in_threadpool(_added, request, number, form)


def _added(request: Request, number: int, form: Form) -> Response:
    files = form.chosen("files")
    faults = [] if files else ["no file was chosen"]
    done = "same"
    for upload in files:
        try:
            added = _add_one(request, number, upload, form.typed)
            done = (
                "files"
                if added.new or done == "files"
                else "again"
                if added.again or done == "again"
                else done
            )
        except InputFault as fault:
            faults.append(str(fault))
    if faults:
        return station_page(request, number, "evidence", form.typed, " — ".join(faults))
    return go_to(f"/jobs/{number}/evidence", done, "files-read")


def _add_one(request: Request, number: int, upload: UploadFile, typed: dict[str, str]) -> AddedEvidence:
    """Add one file."""
    polarity = Polarity(typed["polarity"]) if typed.get("polarity") in ("normal", "reversed") else None
    with tempfile.TemporaryDirectory() as folder:
        path = evidence_copied(upload, Path(folder))
        rate = number_of(typed, "sample_rate", "rows in a second")
        return add_evidence(shop_of(request), number, path, side_of(typed), who_of(request),
                            regime=regime_of(typed), polarity=polarity, sample_rate=rate)  # fmt: skip


@router.post("/jobs/{number}/sound/{identity}")
async def answer(request: Request, number: JobNumber, identity: int) -> Response:
    """Say which way up a sound is, where it did not show."""

    def work(typed: dict[str, str]) -> None:
        if typed.get("polarity") not in ("normal", "reversed"):
            raise InputFault(
                "no such polarity", got=repr(typed.get("polarity", "")), wanted="normal or reversed"
            )
        answer_polarity(shop_of(request), number, identity, Polarity(typed["polarity"]), who_of(request))

    return await posted(request, number, "evidence", "again", work)


@router.post("/jobs/{number}/gas/{identity}")
async def place(request: Request, number: JobNumber, identity: int) -> Response:
    """Say where a gas table was read that does not say it."""

    def work(typed: dict[str, str]) -> None:
        answer_place(shop_of(request), number, identity, regime_of(typed), who_of(request))

    return await posted(request, number, "evidence", "again", work)


@router.post("/jobs/{number}/readings")
async def type_reading(request: Request, number: JobNumber) -> Response:
    """Type in one reading with its repeats."""

    def work(typed: dict[str, str]) -> None:
        item = typed.get("item", "")
        unit = typed.get("unit", "").strip() or unit_choice(typed.get("units", "")).preferred(
            usual_unit(item)
        )
        values, wanted = numbers_of(typed, "repeats", "values"), number_of(typed, "wanted", "wanted")
        if item == "dwell" and unit == "deg":
            values = [on_six(value, typed) for value in values]
            wanted = None if wanted is None else on_six(wanted, typed)
        tool = typed.get("instrument", "").strip() or None
        add_reading(shop_of(request), number, item, values, unit, side_of(typed), who_of(request),
                    regime=regime_of(typed), wanted=wanted, tool=tool)  # fmt: skip

    return await posted(request, number, "evidence", "reading", work)


def on_six(degrees: float, typed: dict[str, str]) -> float:
    """Dwell, or duty in percent, read on the meter's scale, on the six-cylinder scale. [deg]

    Raises:
        InputFault: no such scale.
    """
    scale = typed.get("scale") or "6"
    if scale == DUTY:
        return 0.01 * dwell_degrees(1.0) * degrees
    if scale not in {str(one) for one in SCALES}:
        raise InputFault("no such scale of a dwell meter", where="dwell", got=repr(scale),
                         wanted=", ".join((*map(str, SCALES), DUTY)))  # fmt: skip
    return degrees if scale == "6" else dwell_degrees(duty_of_dwell(degrees, int(scale)))


@router.post("/jobs/{number}/gas")
async def type_gas(request: Request, number: JobNumber) -> Response:
    """Type in one line of a gas analyzer."""

    def work(typed: dict[str, str]) -> None:
        gas = {name: typed.get(name, "") for name in COLUMNS}
        add_gas(shop_of(request), number, gas, side_of(typed), who_of(request))

    return await posted(request, number, "evidence", "gas", work)


@router.post("/jobs/{number}/readings/undo")
async def undo_reading(request: Request, number: JobNumber) -> Response:
    """Take back the last typed reading."""

    def work(typed: dict[str, str]) -> None:
        take_back_reading(shop_of(request), number, who_of(request))

    return await posted(request, number, "evidence", "undone", work)
