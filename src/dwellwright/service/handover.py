"""The handover of a job: its facts, its plots, the PDF, kept in the shop and copied where it is wanted."""

from __future__ import annotations

import os
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.records import jobs, verdicts
from dwellwright.records.audit import now
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop, kept_file
from dwellwright.records.stages import JobStage
from dwellwright.reports.facts import Paper
from dwellwright.reports.handover import handover_sheet
from dwellwright.service.costs import prices_of
from dwellwright.service.handover_facts import Shown, handover_facts
from dwellwright.service.handover_plots import handover_plots
from dwellwright.service.jobs import job_view
from dwellwright.service.shop_profile import shop_profile


@dataclass(frozen=True)
class Handover:
    """A handover sheet that was made.

    Args:
        path: of the copy made for the owner.
        verdict: of the proof, in words.
        standards: profiles the compiler was asked for and did not refuse.
        findings: what the compiler remarked.
    """

    path: Path
    verdict: str
    standards: tuple[str, ...]
    findings: tuple[str, ...]


def hand_over(
    shop: Shop,
    number: int,
    folder: Path,
    who: str,
    *,
    shown: Shown | None = None,
    paper: Paper = Paper.LETTER,
) -> Handover:
    """Make the handover sheet of a job, keep it in the shop, and put a copy into a folder.

    Args:
        shop: where.
        number: of the job.
        folder: for the owner's copy; made if it is not there.
        who: who hands over.
        shown: the shop's name and lines, and a link for the QR code.
        paper: to print on.

    Raises:
        InputFault: no such job, or the folder cannot be written.
    """
    view = job_view(shop, number)
    facts = handover_facts(view, shown or Shown(), handover_plots(shop, view), now(), paper)
    document = handover_sheet(facts)
    path = folder / f"handover-job-{number}.pdf"
    _written(path, document.pdf)
    kept = kept_file(shop, path)
    plain = {"verdict": facts.verdict.value, "summary": facts.summary,
             "criteria": [asdict(line) for line in facts.criteria], "missing": list(facts.missing)}  # fmt: skip
    with writing(shop.engine) as connection:
        verdicts.store_document(connection, number, "handover", path.name, kept.sha256, plain, who)
        jobs.advance_job(connection, number, JobStage.HANDED_OVER, who)
    return Handover(path, facts.verdict.value, document.standards, document.findings)


def _written(path: Path, content: bytes) -> None:
    """The file whole or not at all, over an older one."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".handover-")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(draft, 0o644)
        os.replace(draft, path)
    except OSError as fault:
        raise InputFault(
            "the handover sheet cannot be written", where=str(path), got=fault.strerror or str(fault)
        ) from None


def shop_shown(shop: Shop, name: str = "", link: str = "") -> Shown:
    """The shop as it is printed: as it says of itself, or under another name."""
    profile = shop_profile(shop)
    return Shown(name or profile.name, () if name else profile.lines, link, prices_of(profile))


def paper_named(a4: bool) -> Paper:
    """A4, or US letter."""
    return Paper.A4 if a4 else Paper.LETTER
