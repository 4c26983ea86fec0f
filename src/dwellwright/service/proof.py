"""Proof of a job: the sheet's criteria held against what was measured after the last turn of a screw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from dwellwright.evidence.observation import Measured, Observation
from dwellwright.procedure.proof import Proof, ProofVerdict, Standing, prove
from dwellwright.records import jobs
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.reports.facts import CriterionLine
from dwellwright.reports.lines import criterion_lines
from dwellwright.service.jobs import JobView, job_view


@dataclass(frozen=True)
class JobProof:
    """The proof of a job; `since` is the last turn of a screw, None where nothing was turned."""

    job: int
    side: Side
    since: datetime | None
    proof: Proof


def prove_job(shop: Shop, number: int, who: str) -> JobProof:
    """Judge a job's proof; one that is proven moves the job on.

    Raises:
        InputFault: no such job.
    """
    found = proof_of(job_view(shop, number))
    if found.proof.verdict is ProofVerdict.PROVEN:
        with writing(shop.engine) as connection:
            jobs.advance_job(connection, number, JobStage.PROOF, who)
    return found


def proof_of(view: JobView) -> JobProof:
    """The proof of a job that was read already.

    Where work was done, only what was read after it counts; where none was, the car is judged as it came.
    """
    moments = [record.time for record in view.steps if record.done.turns]
    since = max(moments, default=None)
    worked = since is not None or any(record.side is Side.AS_LEFT for record in view.readings)
    side = Side.AS_LEFT if worked else Side.AS_FOUND
    seen = _timed(view, side)
    return JobProof(view.job.number, side, since, prove(view.sheet.sheet, seen, since=since))


SHOWN_BY = {
    Measured.DUTY: "A dwell reading or a drive recording would show it",
    Measured.CLOSED_LOOP_SHARE: "A drive recording would show it",
    Measured.SENSOR_CROSSING_RATE: "A drive recording would show it",
    Measured.GAS_LAMBDA: "A gas reading would show it",
}
"""What shows a criterion, by what is measured for it."""


def still_missing(found: JobProof) -> dict[str, tuple[str, ...]]:
    """What would show the criteria that nothing was measured for: each kind of evidence with what it would show."""
    groups: dict[str, list[str]] = {}
    for one in found.proof.criteria:
        if one.standing is Standing.NOT_SHOWN and one.reading is None:
            groups.setdefault(SHOWN_BY[one.measured], []).append(one.title)
    return {words: tuple(titles) for words, titles in groups.items()}


def not_sure(found: JobProof) -> tuple[str, ...]:
    """Criteria that were measured, but not well enough to say, each with the reason."""
    unsure = (one for one in found.proof.criteria if one.standing is Standing.NOT_SHOWN and one.reading)
    return tuple(f"{one.title}: {one.reason}" for one in unsure)


def lines_as_found(view: JobView) -> tuple[CriterionLine, ...]:
    """The same criteria held against the car as it came, as printed."""
    return criterion_lines(prove(view.sheet.sheet, _timed(view, Side.AS_FOUND)))


def _timed(view: JobView, side: Side) -> Sequence[Observation]:
    """Readings of one side; those without a time of their own were taken when they were added."""
    own = (record for record in view.readings if record.side is side)
    return [replace(one.observation, time=one.observation.time or one.added) for one in own]


def proof_lines(found: JobProof) -> tuple[CriterionLine, ...]:
    """The criteria of a proof as printed."""
    return criterion_lines(found.proof)
