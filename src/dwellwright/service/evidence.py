"""Adding a file to a job: read first, kept only when it can be used, its readings stored with it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
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
from dwellwright.service.files import FileReport, read_file
from dwellwright.service.trace_view import unpacked

if TYPE_CHECKING:
    from dwellwright.evidence.waveform_types import Polarity


@dataclass(frozen=True)
class AddedEvidence:
    """What adding a file came to; `new` is False where these very bytes were in the job already."""

    record: evidence.EvidenceRecord
    report: FileReport
    readings: int
    new: bool


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
            return AddedEvidence(earlier, report, len(report.observations), new=False)
        identity = evidence.store_evidence(connection, number, kept, report.kind, side, summary, who)
        count = readings.store_observations(connection, number, side, report.observations, identity)
        jobs.advance_job(connection, number, JobStage.EVIDENCE, who)
        record = next(one for one in evidence.evidence_of(connection, number) if one.id == identity)
    if report.kind == "trace":
        with suppress(InputFault):  # looking closer unpacks it otherwise
            unpacked(shop, record)
    return AddedEvidence(record, report, count, new=True)


def evidence_file(shop: Shop, record: evidence.EvidenceRecord) -> Path:
    """Where the bytes of an evidence file lie."""
    return file_place(shop, record.file.sha256)
