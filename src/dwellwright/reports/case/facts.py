"""What a case write-up says. Nothing in it names a person, a shop, a plate or a day."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from dwellwright.procedure.proof import ProofVerdict
from dwellwright.reports.facts import Captioned, CriterionLine, Finding, Photo, ReadingLine, SettingLine


@dataclass(frozen=True)
class LoopPiece:
    """A stretch of the car's own recording.

    Args:
        side: before or after the work, in words.
        where: in the operating range, in words.
        time: since the stretch began. [s]
        dwell: [deg]
        sensor: [mV]
    """

    side: str
    where: str
    time: tuple[float, ...]
    dwell: tuple[float, ...]
    sensor: tuple[float, ...]

    @property
    def crossings(self) -> int:
        """How often the sensor passed 450 mV."""
        rich = [one > MIDDLE for one in self.sensor]
        return sum(a != b for a, b in pairwise(rich))

    @property
    def mean(self) -> float:
        """Mean dwell. [deg]"""
        return sum(self.dwell) / len(self.dwell)


MIDDLE = 450.0
"""Sensor voltage between rich and lean; common practice, no source. [mV]"""


@dataclass(frozen=True)
class CaseFacts:
    """Everything a case write-up says.

    Args:
        title: of the page.
        car: in plain words.
        unit: the spec sheet's title.
        complaint: in the owner's words, names taken out.
        summary: what was found and how it stands.
        readings: as found, those that speak.
        causes: likeliest first.
        settings: as found and as left.
        notes: what was written down at the steps.
        minutes: time it took; empty where nobody wrote it down.
        verdict: of the proof.
        criteria: of the proof.
        missing: to call it proven.
        loops: stretches of the car's own recordings.
        energized_is_lean: which way the solenoid works.
        symptom_plots: of the evidence.
        cause_plots: of the causes.
        proof_plots: of the proof.
        photos: those that were chosen.
        taken_out: how many names, plates and numbers were taken out.
        invented: whether the job is invented.
        program: name and version.
    """

    title: str
    car: str
    unit: str
    complaint: str
    summary: str
    readings: tuple[ReadingLine, ...]
    causes: tuple[Finding, ...]
    settings: tuple[SettingLine, ...]
    notes: tuple[tuple[str, str], ...]
    minutes: str
    verdict: ProofVerdict
    criteria: tuple[CriterionLine, ...]
    missing: tuple[str, ...]
    loops: tuple[LoopPiece, ...]
    energized_is_lean: bool
    symptom_plots: tuple[Captioned, ...]
    cause_plots: tuple[Captioned, ...]
    proof_plots: tuple[Captioned, ...]
    photos: tuple[Photo, ...]
    taken_out: int
    invented: bool
    program: str
