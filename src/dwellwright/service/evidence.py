"""Adding a file to a job: read first, kept only when it can be used, its readings stored with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Regime
from dwellwright.records import evidence, jobs, readings
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop, file_place, kept_file
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.calibrations import corrections
from dwellwright.service.column_maps import columns_for
from dwellwright.service.file_kind import FileKind
from dwellwright.service.files import FileReport, read_file

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from dwellwright.evidence.waveform_types import Polarity


@dataclass(frozen=True)
class AddedEvidence:
    """What adding a file came to; `new` is False where these very bytes were in the job already.

    `again` says that they were read another way this time, and that those readings took the place of the first.
    """

    record: evidence.EvidenceRecord
    report: FileReport
    readings: int
    new: bool
    again: bool = False


def read_for_shop(
    shop: Shop | None, path: Path, regime: Regime = Regime.IDLE, polarity: Polarity | None = None
) -> FileReport:
    """An evidence file read with what the shop remembers: columns by the header, calibrations by the instrument.

    Raises:
        InputFault: the file cannot be used.
    """
    columns, known = (columns_for(shop, path), corrections(shop)) if shop else (None, None)
    return read_file(path, regime=regime, polarity=polarity, columns=columns, corrections=known)


def add_evidence(
    shop: Shop,
    number: int,
    path: Path,
    side: Side,
    who: str,
    *,
    regime: Regime = Regime.IDLE,
    polarity: Polarity | None = None,
) -> AddedEvidence:
    """Read a file and add it to a job with its readings; a bad file leaves the job as it was.

    Args:
        shop: where.
        number: of the job.
        path: of the file; its content decides what it is.
        side: before or after the work.
        who: who adds it.
        regime: where in the operating range a sound recording was made.
        polarity: of a sound recording; None to see it from the signal.

    Raises:
        InputFault: no such job, or the file cannot be used.
    """
    with reading(shop.engine) as connection:
        jobs.job_record(connection, number)
    report = read_for_shop(shop, path, regime, polarity)
    kept = kept_file(shop, path)
    summary = {"facts": dict(report.facts), "warnings": list(report.warnings)}
    with writing(shop.engine) as connection:
        earlier = evidence.same_evidence(connection, number, kept.sha256, side)
        if earlier:
            again = _reads_otherwise(connection, earlier, report)
            if again:
                evidence.read_again(connection, earlier, summary, who)
                readings.replace_observations(connection, number, side, report.observations, earlier.id)
            return AddedEvidence(earlier, report, len(report.observations), new=False, again=again)
        identity = evidence.store_evidence(connection, number, kept, report.kind, side, summary, who)
        count = readings.store_observations(connection, number, side, report.observations, identity)
        jobs.advance_job(connection, number, JobStage.EVIDENCE, who)
        record = next(one for one in evidence.evidence_of(connection, number) if one.id == identity)
    return AddedEvidence(record, report, count, new=True)


_ANSWERED = (FileKind.WAVEFORM, FileKind.TRACE)
"""Kinds that a person's answer (polarity, place, columns) may read another way."""


def _reads_otherwise(connection: Connection, earlier: evidence.EvidenceRecord, report: FileReport) -> bool:
    """Whether a file of the job says something else now that somebody answered what it left open."""
    if report.kind not in _ANSWERED:
        return False
    standing = [
        one.observation for one in readings.readings_of(connection, earlier.job) if one.evidence == earlier.id
    ]
    before, now = (
        {(one.measured, one.regime, round(one.value, 9)) for one in seen}
        for seen in (standing, report.observations)
    )
    return before != now


def answer_polarity(shop: Shop, number: int, identity: int, polarity: Polarity, who: str) -> None:
    """Say which way up a sound of a job is; it is read again, and what it says then counts.

    Raises:
        InputFault: no such job or sound, or the file can no longer be read.
    """
    with reading(shop.engine) as connection:
        known = {
            one.id: one for one in evidence.evidence_of(connection, number) if one.kind == FileKind.WAVEFORM
        }
        seen = [
            one.observation for one in readings.readings_of(connection, number) if one.evidence == identity
        ]
    if identity not in known:
        raise InputFault("no such file", where=f"job {number}", got=f"sound {identity}")
    record, regime = known[identity], seen[0].regime if seen else Regime.IDLE
    report = read_file(evidence_file(shop, record), regime=regime, polarity=polarity)
    named = [
        replace(one, source=one.source.replace(record.file.sha256, record.file.name))
        for one in report.observations
    ]
    summary = {"facts": dict(report.facts), "warnings": list(report.warnings)}
    with writing(shop.engine) as connection:
        evidence.read_again(connection, record, summary, who)
        readings.replace_observations(connection, number, record.side, named, identity)


def evidence_file(shop: Shop, record: evidence.EvidenceRecord) -> Path:
    """Where the bytes of an evidence file lie."""
    return file_place(shop, record.file.sha256)
