"""The card of a gauge: what was really made, and what that does to its readings and its verdicts."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import ndtr

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.budget import Budget, Component
from dwellwright.evidence.gauge.shop.design import ShopGauge
from dwellwright.units import from_si, step_from_si

FARTHEST = 0.25
"""A made size farther from its nominal than this share is a slip of the pen (assumed). [-]"""


@dataclass(frozen=True)
class GaugeTruth:
    """One size of a gauge as made.

    Args:
        name: of the gauge and end.
        nominal: as drawn. [m]
        made: as measured after making. [m]
        uncertainty: standard uncertainty of `made`. [m]
    """

    name: str
    nominal: float
    made: float
    uncertainty: float

    def __post_init__(self) -> None:
        if not (self.nominal > 0 and self.uncertainty >= 0):
            raise ValueError(f"a size must be positive and its doubt not negative, got {self}")
        if not abs(self.made - self.nominal) <= FARTHEST * self.nominal:
            raise InputFault(
                "the made size is far from the drawn one",
                where=self.name,
                wanted=f"about {self.nominal * 1e3:.3f} mm",
                got=f"{self.made * 1e3:g} mm",
                remedy="Check the number and its unit",
            )

    @property
    def error(self) -> float:
        """Made minus drawn: add it to a reading that took the gauge at its word. [m]"""
        return self.made - self.nominal

    def corrected(self, reading: Budget) -> Budget:
        """A reading taken with this gauge, for its true size: value shifted, doubt of the size added. [m]

        The gauge's own limit of error no longer belongs in the budget once its size is known, so a component
        called `calibration` gives way to the card.
        """
        kept = tuple(part for part in reading.components if part.name != "calibration")
        return Budget(
            reading.value + self.error, (*kept, Component(f"size of {self.name}", self.uncertainty))
        )

    def words(self, raw: float, unit: str) -> str:
        """What was done to a reading, in its unit."""
        shift = step_from_si(self.error, unit)
        return (
            f"read {from_si(raw, unit):.6g} {unit}, corrected by {shift:+.3g} {unit}, the card of {self.name}"
        )


@dataclass(frozen=True)
class GaugeCard:
    """A go/no-go gauge as made: both ends.

    Args:
        gauge: as drawn.
        short: smaller end.
        long: larger end.
    """

    gauge: ShopGauge
    short: GaugeTruth
    long: GaugeTruth

    def __post_init__(self) -> None:
        if self.short.made >= self.long.made:
            raise InputFault(
                "the short end is not shorter than the long one",
                where=self.gauge.setting,
                got=f"{self.short.made * 1e3:g} and {self.long.made * 1e3:g} mm",
                remedy="Perhaps the two were entered the wrong way round",
            )

    @property
    def within_drawing(self) -> bool:
        """Whether both ends came out within their make tolerance."""
        slack = self.gauge.make_tolerance * (1 + 1e-9)
        return (
            abs(self.short.made - self.gauge.short) <= slack
            and abs(self.long.made - self.gauge.long) <= slack
        )

    @property
    def accepted(self) -> tuple[float, float]:
        """Settings that this gauge, as made, accepts. [m]"""
        return self.short.made, self.long.made

    def accepts_wrongly(self, end: GaugeTruth) -> float:
        """Probability that this end, as made, passes a setting just outside the specification. [-]"""
        low, high = self.gauge.nominal - self.gauge.tolerance, self.gauge.nominal + self.gauge.tolerance
        beyond = low - end.made if end is self.short else end.made - high
        rest = self.gauge.stack.worst - self.gauge.make_tolerance
        doubt = (end.uncertainty**2 + (rest / 2) ** 2) ** 0.5
        return float(ndtr(beyond / doubt)) if doubt > 0 else float(beyond > 0)

    @property
    def words(self) -> str:
        """What the card says."""
        low, high = self.accepted
        text = f"accepts {low * 1e3:.3f} to {high * 1e3:.3f} mm"
        worst = max(self.accepts_wrongly(self.short), self.accepts_wrongly(self.long))
        if worst > 0.05:
            return f"{text}: do not use, it can pass a setting outside the specification"
        return text if self.within_drawing else f"{text}: not as drawn, but safe to use with this card"


def single_reading(gauge: GaugeTruth, feel: float) -> Budget:
    """A setting that this one size just fits: its true size, with the doubt of the fit. [m]

    Args:
        gauge: the size that fits.
        feel: standard uncertainty of `just fits`. [m]
    """
    return gauge.corrected(Budget(gauge.nominal, (Component("feel", feel),)))
