"""Taking a job in, listing jobs, and one job with all that belongs to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Observation
from dwellwright.records import audit, costs, evidence, jobs, readings, sheets, steps, verdicts
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.sheets import named_sheet

LONGEST_WORDS = 4000
"""Characters of a complaint; more is a file, which belongs to the evidence."""


@dataclass(frozen=True)
class JobLine:
    """A job in the list."""

    number: int
    created: datetime
    owner: str
    car: str
    complaint: str
    stage: JobStage
    closed: datetime | None


@dataclass(frozen=True)
class JobView:
    """One job with everything that belongs to it."""

    job: jobs.JobRecord
    sheet: sheets.StoredSheet
    evidence: Sequence[evidence.EvidenceRecord]
    readings: Sequence[readings.ReadingRecord]
    steps: Sequence[steps.StepRecord]
    as_found_verdict: verdicts.VerdictRecord | None
    as_left_verdict: verdicts.VerdictRecord | None
    documents: Sequence[verdicts.DocumentRecord]
    costs: Sequence[costs.CostRecord] = ()

    def observations(self, side: Side) -> list[Observation]:
        """What was seen on one side of the work."""
        return [record.observation for record in self.readings if record.side is side]


def take_in_job(shop: Shop, *, owner: str, car: str, complaint: str, sheet: str, who: str) -> JobView:
    """Open a job and return it.

    Args:
        shop: where.
        owner: whose car it is.
        car: the car in plain words.
        complaint: what the customer said, in the customer's words.
        sheet: name of a stored sheet or an archetype, or a sheet's file.
        who: who takes it in.

    Raises:
        InputFault: a field is blank or far too long, or there is no such sheet.
    """
    words = {"owner": owner, "car": car, "complaint": complaint}
    _refuse_empty_words(words)
    found = named_sheet(shop, sheet)
    with writing(shop.engine) as connection:
        stored = sheets.store_sheet(connection, found.name, found.text, found.source, who)
        number = jobs.store_job(connection, jobs.Arrival(**words), stored.id, who)
    return job_view(shop, number)


def _refuse_empty_words(words: Mapping[str, str]) -> None:
    for field, text in words.items():
        if not text.strip():
            raise InputFault("the field is blank", where=field, wanted="a few plain words")
        if len(text) > LONGEST_WORDS:
            raise InputFault(
                "the words are too long",
                where=field,
                wanted=f"at most {LONGEST_WORDS} characters",
                got=str(len(text)),
                remedy="Add long texts to the evidence as a file",
            )


def list_jobs(shop: Shop) -> list[JobLine]:
    """Every job, newest first."""
    with reading(shop.engine) as connection:
        records = jobs.job_records(connection)
    return [JobLine(one.number, one.created, one.owner, one.car, one.complaint, one.stage, one.closed)
            for one in records]  # fmt: skip


def job_view(shop: Shop, number: int) -> JobView:
    """One job with everything that belongs to it, as of one moment.

    Raises:
        InputFault: no such job.
    """
    with reading(shop.engine) as connection:
        record = jobs.job_record(connection, number)
        return JobView(
            record,
            sheets.sheet_version(connection, record.sheet),
            evidence.evidence_of(connection, number),
            readings.readings_of(connection, number),
            steps.steps_of(connection, number),
            verdicts.last_verdict(connection, number, Side.AS_FOUND),
            verdicts.last_verdict(connection, number, Side.AS_LEFT),
            verdicts.documents_of(connection, number),
            costs.costs_of(connection, number),
        )


def job_history(shop: Shop, number: int) -> list[audit.AuditEntry]:
    """The audit trail of a job, oldest first.

    Raises:
        InputFault: no such job.
    """
    with reading(shop.engine) as connection:
        jobs.job_record(connection, number)
        return audit.changes(connection, number)


def correct_job(shop: Shop, number: int, who: str, *, sheet: str | None = None, **words: str) -> JobView:
    """Correct the words of a job or put it on another sheet; the old ones stay in the audit trail.

    Raises:
        InputFault: no such job or sheet, or a field is blank.
        ValueError: a field that a job does not have.
    """
    changed: dict[str, Any] = dict(words)
    _refuse_empty_words(words)
    found = named_sheet(shop, sheet) if sheet else None
    with writing(shop.engine) as connection:
        if found:
            changed["sheet"] = sheets.store_sheet(connection, found.name, found.text, found.source, who).id
        jobs.change_job(connection, number, changed, who)
    return job_view(shop, number)


def close_job(shop: Shop, number: int, found: Sequence[Mapping[str, Any]], who: str) -> JobView:
    """End a job with the causes that the work confirmed (`id`, and `magnitude` with `unit` where known).

    Raises:
        InputFault: no such job, or it is closed already.
    """
    with writing(shop.engine) as connection:
        if jobs.job_record(connection, number).closed:
            raise InputFault("the job is closed already", where=f"job {number}")
        jobs.close_job(connection, number, found, who)
    return job_view(shop, number)
