"""Everything a job holds as tables, and one archive of them with the same as JSON and the spec sheet."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.records.audit import AuditEntry
from dwellwright.records.shop import Shop
from dwellwright.service.export import job_facts
from dwellwright.service.jobs import JobView, job_history, job_view, list_jobs
from dwellwright.service.own_instruments import line_instruments
from dwellwright.service.shop_profile import PROFILE

README = """\
Everything that the shop's records hold of a job: job.json has all of it; the tables have one subject each, for a
spreadsheet. Every number has its unit beside it or in the name of its column. The files of the job itself (recordings,
photographs, papers) are in the shop's backup.
"""

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def job_tables(facts: Mapping[str, Any]) -> dict[str, str]:
    """The facts of a job as CSV texts by file name."""
    found = {"job.csv": _table([facts["job"]])}
    for name in ("evidence", "readings", "steps", "costs", "documents", "history"):
        found[f"{name}.csv"] = _table(facts[name])
    causes = [{"side": side, **{key: cause[key] for key in cause if key not in ("support", "kind")}}
              for side, verdict in facts["verdicts"].items() if verdict for cause in verdict["causes"]]  # fmt: skip
    found["causes.csv"] = _table(causes)
    return found


def _table(rows: Sequence[Mapping[str, Any]]) -> str:
    """Rows of facts as CSV; what has parts of its own becomes JSON in its cell."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(names)
    table.writerows([[_cell(row.get(name)) for name in names] for row in rows])
    return out.getvalue()


def _cell(value: Any) -> str:
    """A cell that reads back as it is, and that no spreadsheet takes for a formula."""
    if value is None:
        return ""
    if isinstance(value, Mapping | list | tuple):
        return json.dumps(value, ensure_ascii=False)
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(_FORMULA) else text


def job_files(view: JobView, history: Sequence[AuditEntry]) -> dict[str, str]:
    """Every file of a job's export by name: JSON, tables, the spec sheet."""
    facts = job_facts(view, history)
    whole = json.dumps(facts, ensure_ascii=False, indent=1, allow_nan=False)
    return {"job.json": whole, **job_tables(facts), f"{view.sheet.name}.toml": view.sheet.text}


def job_archive(shop: Shop, number: int) -> bytes:
    """Everything a job holds, as one archive.

    Raises:
        InputFault: no such job.
    """
    files = job_files(job_view(shop, number), job_history(shop, number))
    return _archive({"READ ME.txt": README, **files}.items())


def shop_archive(shop: Shop) -> bytes:
    """Everything every job holds, a folder each, with the shop's own file and its instruments.

    Raises:
        InputFault: the records cannot be read.
    """
    files = {"READ ME.txt": README}
    for line in list_jobs(shop):
        own = job_files(job_view(shop, line.number), job_history(shop, line.number))
        files |= {f"job-{line.number}/{name}": text for name, text in own.items()}
    if (profile := shop.folder / PROFILE).exists():
        files[PROFILE] = profile.read_text(encoding="utf-8")
    files |= {f"instruments/{one.name}.toml": one.text for one in line_instruments(shop)}
    return _archive(files.items())


def _archive(files: Iterable[tuple[str, str]]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files:
            archive.writestr(name, text)
    return out.getvalue()


def write_job_files(shop: Shop, number: int, folder: Path) -> list[Path]:
    """Write a job's export into a folder, a file each, and return their paths.

    Raises:
        InputFault: no such job, or the folder cannot be written.
    """
    written = []
    files = job_files(job_view(shop, number), job_history(shop, number))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            path = folder / name
            path.write_text(text, encoding="utf-8", newline="")
            written.append(path)
    except OSError as fault:
        raise InputFault(
            "the export cannot be written", where=str(folder), got=fault.strerror or str(fault)
        ) from None
    return written
