"""A gauge held against known sizes: the line between reading and truth, used backwards with its doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from dwellwright.evidence.chance import student_share


@dataclass(frozen=True)
class Calibration:
    """Line `reading = offset + slope * truth` by least squares.

    Args:
        offset: reading at zero truth. [unit of the reading]
        slope: reading for one unit of truth. [-]
        residual: standard deviation of readings about the line. [unit of the reading]
        offset_uncertainty: standard. [unit of the reading]
        slope_uncertainty: standard. [-]
        freedom: degrees of freedom of `residual`.
        middle: mean of the known sizes. [unit of the truth]
        squares: sum of squares of the known sizes about their mean.
        lowest: smallest known size used. [unit of the truth]
        highest: largest known size used. [unit of the truth]
    """

    offset: float
    slope: float
    residual: float
    offset_uncertainty: float
    slope_uncertainty: float
    freedom: int
    middle: float
    squares: float
    lowest: float
    highest: float

    def truth(self, reading: float, repeats: int = 1) -> tuple[float, float]:
        """True size behind a mean of `repeats` readings, and its standard uncertainty. [unit of the truth]

        References:
            JCGM 100:2008 H.3 for the line; Draper, Smith 1998, Applied Regression Analysis, 3.2, its inverse.
        """
        if repeats < 1:
            raise ValueError(f"a mean has at least one reading, got {repeats}")
        size = (reading - self.offset) / self.slope
        count = self.freedom + 2
        spread = 1 / repeats + 1 / count + (size - self.middle) ** 2 / self.squares
        return size, self.residual / abs(self.slope) * sqrt(spread)

    def inside(self, reading: float) -> bool:
        """Whether the true size lies between the known sizes that the line rests on."""
        return self.lowest <= self.truth(reading)[0] <= self.highest

    def needs_correction(self, level: float = 0.05) -> bool:
        """Whether the line differs from reading = truth by more than chance would make it."""
        away = abs(self.slope - 1) / self.slope_uncertainty if self.slope_uncertainty > 0 else float("inf")
        middle_error = self.offset + (self.slope - 1) * self.middle
        middle_doubt = self.residual / sqrt(self.freedom + 2)
        shift = abs(middle_error) / middle_doubt if middle_doubt > 0 else float("inf")
        if self.residual == 0:
            return self.slope != 1 or self.offset != 0
        return 4 * student_share(self.freedom, -max(away, shift)) < level


def calibration(truth: Sequence[float], reading: Sequence[float]) -> Calibration:
    """Straight line through readings of known sizes, equal weights.

    Args:
        truth: known sizes, taken as exact. [any unit]
        reading: what the gauge said of each.

    Raises:
        ValueError: fewer than three pairs, unequal lengths, equal sizes, or a gauge that does not move.
    """
    x, y = np.asarray(truth, dtype=np.longdouble), np.asarray(reading, dtype=np.longdouble)
    if x.shape != y.shape or x.ndim != 1 or x.size < 3:
        raise ValueError(f"three pairs are the least, got {x.size} sizes and {y.size} readings")
    middle, squares = x.mean(), ((x - x.mean()) ** 2).sum()
    if squares == 0:
        raise ValueError("the known sizes are all the same, so no slope can be found")
    slope = ((x - middle) * (y - y.mean())).sum() / squares
    if slope == 0:
        raise ValueError("the readings do not follow the sizes at all")
    offset = y.mean() - slope * middle
    freedom = int(x.size) - 2
    residual = np.sqrt(((y - offset - slope * x) ** 2).sum() / freedom)
    return Calibration(
        offset=float(offset),
        slope=float(slope),
        residual=float(residual),
        offset_uncertainty=float(residual * np.sqrt(1 / x.size + middle**2 / squares)),
        slope_uncertainty=float(residual / np.sqrt(squares)),
        freedom=freedom,
        middle=float(middle),
        squares=float(squares),
        lowest=float(x.min()),
        highest=float(x.max()),
    )
