"""Where a solved point leaves the range its laws were made for: said with the result, never raised from a solver."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import NDArray

from dwellwright.carburetor.steady import COLUMN
from dwellwright.physics.liquid_flow import REYNOLDS_RANGE

import numpy as np  # isort: skip

LARGEST_SIGNAL = 15e3
"""Venturi signal beyond which the boost venturi is near sonic flow and its gain is no longer constant, assumed. [Pa]"""


@dataclass(frozen=True)
class Finding:
    """One doubt about a result: what is out of range, its value, and the range.

    Args:
        point: operating point.
        what: in plain words.
        value: the value found, SI.
        low: lower end of the range, SI.
        high: upper end of the range, SI.
    """

    point: str
    what: str
    value: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"{self.point}: {self.what} is {self.value:.3g}, outside {self.low:.3g} to {self.high:.3g}"


def point_findings(
    name: str, row: NDArray[np.float64], wanted_duty: float, limits: tuple[float, float]
) -> tuple[Finding, ...]:
    """Findings of one row of `steady.steady_batch`."""
    checks = (
        ("duty needed to hold the mixture", wanted_duty, *limits),
        ("Reynolds number in the jet", float(row[COLUMN.jet_reynolds]), *REYNOLDS_RANGE),
        ("venturi signal in Pa", float(row[COLUMN.venturi_depression]), 0.0, LARGEST_SIGNAL),
    )
    return tuple(
        Finding(name, what, value, low, high) for what, value, low, high in checks if not low <= value <= high
    )
