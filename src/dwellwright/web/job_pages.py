"""One job, station by station, from arrival to handover."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse, JSONResponse
from starlette.datastructures import UploadFile

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Regime
from dwellwright.evidence.waveform import Polarity
from dwellwright.records.stages import Phase, Side
from dwellwright.service.diagnosis import diagnose_job
from dwellwright.service.evidence import add_evidence
from dwellwright.service.export import job_facts
from dwellwright.service.handover import hand_over
from dwellwright.service.jobs import correct_job, job_history, job_view
from dwellwright.service.papers import bench_card_pdf, last_handover, readings_csv
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.readings import add_reading, take_back_reading
from dwellwright.web.rendering import go_to, number_of, numbers_of, page, shop_of, typed_of, who_of
from dwellwright.web.stations import STATIONS, station_values

router = APIRouter()
COPY = 1 << 20
"""Bytes copied at a time from an upload to disk."""


def _station(
    request: Request, number: int, name: str, typed: dict[str, str] | None = None, fault: str = ""
) -> Response:
    view = job_view(shop_of(request), number)
    values: dict[str, Any] = station_values(shop_of(request), view, name)
    shared = {"title": f"Job {number}: {STATIONS[name]}", "view": view, "stations": STATIONS, "station": name,
              "typed": typed or {}, "fault": fault}  # fmt: skip
    return page(request, f"job_{name}.html", {**values, **shared}, status=422 if fault else 200)


async def _posted(
    request: Request, number: int, name: str, work: Callable[[dict[str, str]], None]
) -> Response:
    """Do a form's work and show its station again; a refused form comes back as it was typed."""
    typed = await typed_of(request)

    def done() -> Response:
        try:
            work(typed)
        except InputFault as fault:
            return _station(request, number, name, typed, str(fault))
        anchor = f"#{typed['key']}" if typed.get("key") else ""
        return go_to(f"/jobs/{number}/{name}{anchor}")

    return await run_in_threadpool(done)


def _side(typed: dict[str, str]) -> Side:
    return Side.AS_LEFT if typed.get("side") == Side.AS_LEFT.value else Side.AS_FOUND


def _regime(typed: dict[str, str]) -> Regime:
    given = typed.get("regime") or Regime.IDLE.value
    if given not in Regime._value2member_map_:
        raise InputFault("no such place in the operating range", where="regime", got=repr(given),
                         wanted=", ".join(one.value for one in Regime))  # fmt: skip
    return Regime(given)


@router.get("/jobs/{number}")
def job(number: int) -> Response:
    """A job opens at its arrival."""
    return go_to(f"/jobs/{number}/arrival")


@router.get("/jobs/{number}/job.json")
def everything(request: Request, number: int) -> Response:
    """Everything a job holds, as one JSON object."""
    shop = shop_of(request)
    return JSONResponse(job_facts(job_view(shop, number), job_history(shop, number)))


@router.get("/jobs/{number}/readings.csv")
def readings_table(request: Request, number: int) -> Response:
    """The readings as a table."""
    headers = {"Content-Disposition": f'attachment; filename="readings-job-{number}.csv"'}
    return Response(readings_csv(shop_of(request), number), media_type="text/csv", headers=headers)


@router.get("/jobs/{number}/bench-card.pdf")
def bench_card(request: Request, number: int) -> Response:
    """The bench card of the job's unit."""
    return Response(bench_card_pdf(shop_of(request), number), media_type="application/pdf")


@router.get("/jobs/{number}/handover.pdf")
def handover_pdf(request: Request, number: int) -> Response:
    """The last handover sheet made."""
    kept = last_handover(shop_of(request), number)
    if kept is None:
        raise InputFault(
            "no handover sheet was made yet", where=f"job {number}", remedy="Make it on the handover page"
        )
    return FileResponse(kept, media_type="application/pdf", filename=f"handover-job-{number}.pdf",
                        content_disposition_type="inline")  # fmt: skip


@router.get("/jobs/{number}/{name}")
def station(request: Request, number: int, name: str) -> Response:
    """One station of a job."""
    if name not in STATIONS:
        raise InputFault(
            "no such file of this job", where=f"job {number}", got=repr(name), wanted=", ".join(STATIONS)
        )
    return _station(request, number, name)


@router.post("/jobs/{number}/arrival")
async def correct(request: Request, number: int) -> Response:
    """Correct the words taken down at arrival."""

    def work(typed: dict[str, str]) -> None:
        words = {name: typed.get(name, "") for name in ("owner", "car", "complaint")}
        correct_job(shop_of(request), number, who_of(request), **words)

    return await _posted(request, number, "arrival", work)


@router.post("/jobs/{number}/files")
async def add_files(request: Request, number: int) -> Response:
    """Add evidence files; each is taken whole or refused whole."""
    async with request.form() as form:
        typed = {name: value for name, value in form.items() if isinstance(value, str)}
        files = [one for one in form.getlist("files") if isinstance(one, UploadFile) and one.filename]
        return await run_in_threadpool(_added, request, number, files, typed)


def _added(request: Request, number: int, files: list[UploadFile], typed: dict[str, str]) -> Response:
    polarity = Polarity(typed["polarity"]) if typed.get("polarity") in ("normal", "reversed") else None
    faults = [] if files else ["no file was chosen"]
    for upload in files:
        try:
            with tempfile.TemporaryDirectory() as folder:
                path = _copied(upload, Path(folder))
                add_evidence(shop_of(request), number, path, _side(typed), who_of(request),
                             regime=_regime(typed), polarity=polarity)  # fmt: skip
        except InputFault as fault:
            faults.append(str(fault))
    if faults:
        return _station(request, number, "evidence", typed, " — ".join(faults))
    return go_to(f"/jobs/{number}/evidence")


def _copied(upload: UploadFile, folder: Path) -> Path:
    """An upload as a file with its own plain name, whatever path it claims."""
    name = Path((upload.filename or "file").replace("\\", "/")).name.lstrip(".") or "file"
    path = folder / name[-120:]
    with path.open("wb") as out:
        while block := upload.file.read(COPY):
            out.write(block)
    return path


@router.post("/jobs/{number}/readings")
async def type_reading(request: Request, number: int) -> Response:
    """Type in one reading with its repeats."""

    def work(typed: dict[str, str]) -> None:
        add_reading(
            shop_of(request), number, typed.get("item", ""), numbers_of(typed, "repeats", "values"),
            typed.get("unit", "").strip(), _side(typed), who_of(request), regime=_regime(typed),
            wanted=number_of(typed, "wanted", "wanted"),
        )  # fmt: skip

    return await _posted(request, number, "evidence", work)


@router.post("/jobs/{number}/readings/undo")
async def undo_reading(request: Request, number: int) -> Response:
    """Take back the last typed reading."""
    return await _posted(
        request,
        number,
        "evidence",
        lambda typed: _ignore(take_back_reading(shop_of(request), number, who_of(request))),
    )


def _ignore(_: object) -> None:
    """The result is on the page that follows."""


@router.post("/jobs/{number}/causes")
async def diagnose(request: Request, number: int) -> Response:
    """Weigh the causes anew."""
    return await _posted(
        request, number, "causes",
        lambda typed: _ignore(diagnose_job(shop_of(request), number, who_of(request), _side(typed))),
    )  # fmt: skip


@router.post("/jobs/{number}/steps/{phase}")
async def write_step(request: Request, number: int, phase: str) -> Response:
    """Write down a step on the bench or on the car."""
    where = Phase.CAR if phase == Phase.CAR.value else Phase.BENCH

    def work(typed: dict[str, str]) -> None:
        passed = {"yes": True, "no": False}.get(typed.get("passed", ""))
        turns = number_of(typed, "turns", "turns")
        entry = StepEntry(
            numbers_of(typed, "found", "as found"), numbers_of(typed, "left", "as left"), typed.get("unit", ""),
            typed.get("instrument", "").strip() or None,
            -turns if turns is not None and typed.get("way") == "counterclockwise" else turns,
            passed, number_of(typed, "minutes", "minutes"), typed.get("note", ""),
        )  # fmt: skip
        record_step(shop_of(request), number, where, typed.get("key", ""), entry, who_of(request))

    return await _posted(request, number, "bench" if where is Phase.BENCH else "car", work)


@router.post("/jobs/{number}/handover")
async def make_handover(request: Request, number: int) -> Response:
    """Make the handover sheet; it is kept in the shop."""

    def work(typed: dict[str, str]) -> None:
        with tempfile.TemporaryDirectory() as folder:
            hand_over(shop_of(request), number, Path(folder), who_of(request))

    return await _posted(request, number, "handover", work)
