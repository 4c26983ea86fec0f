"""Papers of a job: the bench card, the handover sheet that was kept, the readings as a table."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from dwellwright.records.audit import now
from dwellwright.records.shop import Shop, file_place
from dwellwright.reports.bench_card import bench_card
from dwellwright.service.jobs import job_view
from dwellwright.service.presentation import shown


def bench_card_pdf(shop: Shop, number: int) -> bytes:
    """The bench card of a job's unit, as PDF.

    Raises:
        InputFault: no such job.
    """
    return bench_card(job_view(shop, number).sheet.sheet, now()).pdf


def last_handover(shop: Shop, number: int) -> Path | None:
    """The kept PDF of a job's last handover sheet; None where none was made.

    Raises:
        InputFault: no such job.
    """
    made = [one for one in job_view(shop, number).documents if one.kind == "handover"]
    return file_place(shop, made[-1].sha256) if made else None


def readings_csv(shop: Shop, number: int) -> str:
    """Every reading of a job as CSV, each with its unit.

    Raises:
        InputFault: no such job.
    """
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(("side", "where", "what", "value", "low", "high", "wanted", "unit", "source", "added"))
    for record in job_view(shop, number).readings:
        seen = shown(record.observation)
        ends = (f"{number:.6g}" for number in (seen.value, seen.low, seen.high))
        wanted = "" if seen.wanted is None else f"{seen.wanted:.6g}"
        when = record.added.isoformat()
        row = (record.side.value, seen.regime, seen.measured, *ends, wanted, seen.unit, seen.source, when)
        table.writerow(row)
    return out.getvalue()
