"""Everything a job holds, as one JSON object."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dwellwright import __version__
from dwellwright.records.audit import AuditEntry
from dwellwright.records.readings import ReadingRecord
from dwellwright.service.jobs import JobView
from dwellwright.service.presentation import reading_facts


def job_facts(view: JobView, history: Sequence[AuditEntry] = ()) -> dict[str, Any]:
    """A job as plain facts; readings in shop units, each with its unit, and in SI as they are stored."""
    found, left = view.as_found_verdict, view.as_left_verdict
    return {
        "dwellwright": __version__,
        "job": _job(view),
        "sheet": {"name": view.sheet.name, "version": view.sheet.version, "title": view.sheet.title,
                  "toml": view.sheet.text},
        **_evidence(view),
        **_work(view),
        "verdicts": {"as_found": found.diagnosis if found else None, "as_left": left.diagnosis if left else None},
        "documents": [
            {"kind": one.kind, "name": one.name, "sha256": one.sha256, "made": one.made.isoformat()}
            for one in view.documents
        ],
        "history": [
            {"time": one.time.isoformat(), "who": one.who, "what": one.what, "before": one.before, "after": one.after}
            for one in history
        ],
    }  # fmt: skip


def _job(view: JobView) -> dict[str, Any]:
    job = view.job
    return {"number": job.number, "created": job.created.isoformat(), "owner": job.owner, "car": job.car,
            "complaint": job.complaint, "stage": job.stage.value,
            "closed": job.closed.isoformat() if job.closed else None, "found": job.found}  # fmt: skip


def _evidence(view: JobView) -> dict[str, Any]:
    return {
        "evidence": [
            {"name": one.file.name, "kind": one.kind, "side": one.side.value, "sha256": one.file.sha256,
             "size_bytes": one.file.size, "added": one.added.isoformat(), **one.summary}
            for one in view.evidence
        ],
        "readings": [
            {"side": one.side.value, **reading_facts(one.observation), **_times(one),
             "si": {"value": one.observation.value, "uncertainty": one.observation.uncertainty}}
            for one in view.readings
        ],
    }  # fmt: skip


def _times(record: ReadingRecord) -> dict[str, str | None]:
    """When it was read, where that is known, and when it was written down."""
    seen = record.observation.time
    return {"time": seen.isoformat() if seen else None, "added": record.added.isoformat()}


def _work(view: JobView) -> dict[str, Any]:
    return {
        "steps": [
            {"where": one.done.phase.value, "key": one.done.key, "turns": one.done.turns,
             "as_found_si": one.done.as_found, "as_left_si": one.done.as_left, "passed": one.done.passed,
             "minutes": one.done.minutes, "note": one.done.note, "who": one.who, "time": one.time.isoformat()}
            for one in view.steps
        ],
        "costs": [
            {"kind": one.cost.kind.value, "what": one.cost.words, "count": one.cost.thousandths / 1000,
             "price_smallest_coin": one.cost.price, "step": one.cost.step, "who": one.who,
             "added": one.added.isoformat()}
            for one in view.costs
        ],
    }  # fmt: skip
