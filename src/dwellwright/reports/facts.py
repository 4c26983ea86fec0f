"""What a handover sheet is made of: plain facts, words already chosen, numbers already with their units.

Built by the service from a job; nothing here knows how it will look.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from dwellwright.procedure.proof import ProofVerdict, Standing
from dwellwright.reports.plots.look import Plot


class Paper(StrEnum):
    """Paper to print on."""

    LETTER = "us-letter"
    A4 = "a4"


@dataclass(frozen=True)
class Party:
    """The shop or the owner."""

    name: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Pair:
    """A label and what it says: plate, odometer, what is stamped on the unit."""

    label: str
    value: str


@dataclass(frozen=True)
class Finding:
    """A cause found.

    Args:
        title: in words.
        probability: as the diagnosis gave it, or None if it was seen by eye. [-]
        magnitude: size with unit and interval.
        words: what it means for the owner, a sentence.
    """

    title: str
    probability: float | None = None
    magnitude: str = ""
    words: str = ""


@dataclass(frozen=True)
class Work:
    """Something done, with its time and what it cost, each as printed; empty where not kept."""

    words: str
    minutes: str = ""
    cost: str = ""


@dataclass(frozen=True)
class CriterionLine:
    """One criterion of the proof as printed."""

    title: str
    wanted: str
    read: str
    interval: str
    standing: Standing
    reason: str = ""


@dataclass(frozen=True)
class SettingLine:
    """One adjustable point as found and as left, as printed."""

    title: str
    wanted: str
    as_found: str
    as_left: str
    turned: str
    verdict: str


@dataclass(frozen=True)
class ReadingLine:
    """One reading as printed."""

    what: str
    where: str
    value: str
    interval: str
    source: str


@dataclass(frozen=True)
class TurnLine:
    """One turn made, as printed."""

    when: str
    what: str
    amount: str
    note: str = ""


@dataclass(frozen=True)
class Captioned:
    """A plot with its caption."""

    plot: Plot
    caption: str


@dataclass(frozen=True)
class Photo:
    """A photograph, PNG or JPEG, location data already removed.

    Args:
        image: file content.
        caption: as typed; also read out to those who cannot see it.
    """

    image: bytes
    caption: str


@dataclass(frozen=True)
class HandoverFacts:
    """Everything a handover sheet says.

    Args:
        job: number or name of the job.
        shop: who did the work.
        owner: whose car it is.
        vehicle: the car in pairs.
        unit: the carburetor in pairs, sheet used and what is stamped included.
        arrived: day the job was taken in.
        finished: day it was handed over.
        complaint: in the owner's words.
        summary: what was found, a few sentences for the owner.
        found: causes, likeliest first.
        done: what was done.
        verdict: of the proof.
        criteria: of the proof, each with what was read.
        missing: what would be needed to call it proven.
        cautions: what the owner should mind.
        not_tested: what nobody looked at.
        before_after: dwell before and after, if there is a plot.
        settings: as found and as left.
        turns: every turn made.
        readings: every reading that counted.
        plots: for the appendix.
        photos: for the appendix.
        sources: where figures and methods came from.
        total_minutes: as printed.
        total_cost: as printed.
        link: opens the job, printed as a QR code; empty for none.
        invented: whether the job is invented; marked on every page.
        program: name and version that made the sheet.
        printed: when; the only time in the file, so equal facts give equal bytes.
        paper: to print on.
    """

    job: str
    shop: Party
    owner: Party
    vehicle: tuple[Pair, ...]
    unit: tuple[Pair, ...]
    arrived: date | None
    finished: date | None
    complaint: str
    summary: str
    found: tuple[Finding, ...]
    done: tuple[Work, ...]
    verdict: ProofVerdict
    criteria: tuple[CriterionLine, ...]
    printed: datetime
    missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    not_tested: tuple[str, ...] = ()
    before_after: Plot | None = None
    settings: tuple[SettingLine, ...] = ()
    turns: tuple[TurnLine, ...] = ()
    readings: tuple[ReadingLine, ...] = ()
    plots: tuple[Captioned, ...] = ()
    photos: tuple[Photo, ...] = ()
    sources: tuple[str, ...] = ()
    total_minutes: str = ""
    total_cost: str = ""
    link: str = ""
    invented: bool = False
    program: str = "Dwellwright"
    paper: Paper = Paper.LETTER
