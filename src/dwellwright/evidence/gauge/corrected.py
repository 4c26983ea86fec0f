"""Readings corrected by what is known of the very instrument that took them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Protocol

from dwellwright.evidence.gauge.budget import Budget, Component, Kind, resolution
from dwellwright.evidence.gauge.calibration import Calibration
from dwellwright.units import from_si, step_from_si


class Correction(Protocol):
    """What is known of one instrument: its calibration, or the card of a gauge that was made in the shop."""

    def corrected(self, reading: Budget) -> Budget:
        """The budget of a reading taken with it, value and doubt."""
        ...

    def words(self, raw: float, unit: str) -> str:
        """What was done to a reading of `raw` [SI], for the person who sees only the result."""
        ...


@dataclass(frozen=True)
class InstrumentLine:
    """The calibration that counts for one instrument.

    Args:
        label: the instrument in words, with its mark.
        day: of the calibration, as people write it.
        line: reading against truth. [SI]
        size_doubt: standard uncertainty of the known sizes. [SI]
        step: smallest step that is read on the instrument. [SI]
        standing: what is wrong with its age, in words; empty where nothing is.
    """

    label: str
    day: str
    line: Calibration
    size_doubt: float
    step: float
    standing: str = ""

    def shift(self, raw: float) -> float:
        """What is added to a reading; nothing where the line lies within chance of the truth. [SI]"""
        return self.line.truth(raw)[0] - raw if self.line.needs_correction() else 0.0

    def line_doubt(self, raw: float) -> float:
        """Standard uncertainty of the line there; its scatter is never less than the step read allows. [SI]"""
        line = self.line
        scatter = max(line.residual, resolution(self.step)) / abs(line.slope)
        away = line.truth(raw)[0] - line.middle
        return scatter * sqrt(1 / (line.freedom + 2) + away**2 / line.squares)

    def corrected(self, reading: Budget) -> Budget:
        """The reading at its true size; the instrument's general limit of error gives way to its own calibration.

        A line within chance of the truth corrects nothing, and what it would have corrected is doubt instead.
        Outside the known sizes the line says nothing: value and limit of error stay as they were.

        References:
            JCGM 100:2008 H.3 for the line, 3.2.3 and F.2.4.5 for corrections made and left out.
        """
        raw = reading.value
        if not self.line.inside(raw):
            return reading
        shift = self.shift(raw)
        slope = self.line.slope if shift else 1.0
        kept = tuple(replace(part, sensitivity=part.sensitivity / slope)
                     for part in reading.components if part.name != "calibration")  # fmt: skip
        own = [Component("calibration line", self.line_doubt(raw), freedom=self.line.freedom, kind=Kind.TYPE_A),
               Component("known sizes", self.size_doubt)]  # fmt: skip
        if not shift:
            own.append(Component("error left as it is", abs(self.line.truth(raw)[0] - raw)))
        return Budget(raw + shift, (*kept, *own))

    def words(self, raw: float, unit: str) -> str:
        """What was done to a reading, in its unit, with the doubt that the calibration leaves."""
        read = f"read {from_si(raw, unit):.6g} {unit} with {self.label}"
        if not self.line.inside(raw):
            low, high = (from_si(end, unit) for end in (self.line.lowest, self.line.highest))
            known = f"{low:.6g} to {high:.6g} {unit}"
            return f"{read}: outside {known}, where it was calibrated, so not corrected{self._age}"
        doubt = 2 * sqrt(self.line_doubt(raw) ** 2 + self.size_doubt**2)
        known = f"calibration of {self.day}, itself ± {step_from_si(doubt, unit):.2g} {unit}"
        shift = self.shift(raw)
        if not shift:
            return f"{read}: no correction needed by its {known}{self._age}"
        return f"{read}, corrected by {step_from_si(shift, unit):+.3g} {unit} after its {known}{self._age}"

    @property
    def _age(self) -> str:
        return f" ({self.standing})" if self.standing else ""


@dataclass(frozen=True)
class NoLine:
    """An instrument of the shop that has no calibration kept: its readings stay as they are, and it is said.

    Args:
        label: the instrument in words, with its mark.
    """

    label: str

    def corrected(self, reading: Budget) -> Budget:
        """The reading as it is."""
        return reading

    def words(self, raw: float, unit: str) -> str:
        """That nothing was corrected, and why."""
        return f"read with {self.label}, of which no calibration is kept"
