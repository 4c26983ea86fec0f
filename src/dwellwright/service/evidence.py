"""Adding a file to a job: read first, kept only when it can be used, its readings stored with it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Observation, Regime
from dwellwright.records import evidence, jobs, readings
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop, file_place, kept_file
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.calibrations import corrections
from dwellwright.service.column_maps import columns_for
from dwellwright.service.file_kind import FileKind
from dwellwright.service.files import FileReport, read_file
from dwellwright.service.trace_view import unpacked

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from dwellwright.evidence.trace import ColumnMap
    from dwellwright.evidence.waveform.types import Polarity


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
    shop: Shop | None,
    path: Path,
    regime: Regime = Regime.IDLE,
    polarity: Polarity | None = None,
    sample_rate: float | None = None,
) -> FileReport:
    """An evidence file read with what the shop remembers: columns by the header, calibrations by the instrument.

    Raises:
        InputFault: the file cannot be used.
    """
    columns, known = (columns_for(shop, path), corrections(shop)) if shop else (None, None)
    return read_file(
        path, regime=regime, polarity=polarity, sample_rate=sample_rate, columns=columns, corrections=known
    )


def add_evidence(
    shop: Shop,
    number: int,
    path: Path,
    side: Side,
    who: str,
    *,
    regime: Regime = Regime.IDLE,
    polarity: Polarity | None = None,
    sample_rate: float | None = None,
) -> AddedEvidence:
    """Read a file and add it to a job with its readings; a bad file leaves the job as it was.

    Args:
        shop: where.
        number: of the job.
        path: of the file; its content decides what it is.
        side: before or after the work.
        who: who adds it.
        regime: where a sound was recorded, or a gas table read that does not say.
        polarity: of a sound recording; None to see it from the signal.
        sample_rate: rows in a second of volts without time. [Hz]

    Raises:
        InputFault: no such job, or the file cannot be used.
    """
    with reading(shop.engine) as connection:
        jobs.job_record(connection, number)
    report = read_for_shop(shop, path, regime, polarity, sample_rate)
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
    if report.kind == "trace":
        with suppress(InputFault):  # looking closer unpacks it otherwise
            unpacked(shop, record)
    return AddedEvidence(record, report, count, new=True)


_ANSWERED = (FileKind.WAVEFORM, FileKind.TRACE, FileKind.GAS)
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
    record, seen = _standing(shop, number, identity, FileKind.WAVEFORM)
    regime = seen[0].regime if seen else Regime.IDLE
    rate = record.summary["facts"].get("rate_told_hz")
    path = evidence_file(shop, record)
    report = read_file(path, regime=regime, polarity=polarity, sample_rate=rate)
    _read_again(shop, record, report, who)


def answer_place(shop: Shop, number: int, identity: int, regime: Regime, who: str) -> None:
    """Say where a gas table of a job was read that does not say it itself; what it says of that place then counts.

    Raises:
        InputFault: no such job or table, or the file can no longer be read.
    """
    record, _ = _standing(shop, number, identity, FileKind.GAS)
    _read_again(shop, record, read_file(evidence_file(shop, record), regime=regime), who)


def read_renamed(shop: Shop, number: int, columns: ColumnMap, who: str) -> int:
    """Read the recordings of a job again whose columns were named otherwise now, and return how many there were.

    Raises:
        InputFault: no such job, or one can no longer be read.
    """
    with reading(shop.engine) as connection:
        records = [one for one in evidence.evidence_of(connection, number) if one.kind == FileKind.TRACE]
    named = [one for one in records if columns_for(shop, evidence_file(shop, one)) == columns]
    for record in named:
        _read_again(shop, record, read_file(evidence_file(shop, record), columns=columns), who)
    return len(named)


def _standing(
    shop: Shop, number: int, identity: int, kind: FileKind
) -> tuple[evidence.EvidenceRecord, list[Observation]]:
    """A file of a job by its kind, and what it said until now.

    Raises:
        InputFault: no such job or file.
    """
    with reading(shop.engine) as connection:
        known = {one.id: one for one in evidence.evidence_of(connection, number) if one.kind == kind}
        seen = [
            one.observation for one in readings.readings_of(connection, number) if one.evidence == identity
        ]
    if identity not in known:
        raise InputFault("no such file", where=f"job {number}", got=f"{kind.value} {identity}")
    return known[identity], seen


def _read_again(shop: Shop, record: evidence.EvidenceRecord, report: FileReport, who: str) -> None:
    """Put what a file says now in the place of what it said."""
    kept, name = record.file.sha256, record.file.name
    named = [replace(one, source=one.source.replace(kept, name)) for one in report.observations]
    warnings = [one.replace(kept, name) for one in report.warnings]
    summary = {"facts": dict(report.facts), "warnings": warnings}
    with writing(shop.engine) as connection:
        evidence.read_again(connection, record, summary, who)
        readings.replace_observations(connection, record.job, record.side, named, record.id)


def evidence_file(shop: Shop, record: evidence.EvidenceRecord) -> Path:
    """Where the bytes of an evidence file lie."""
    return file_place(shop, record.file.sha256)
