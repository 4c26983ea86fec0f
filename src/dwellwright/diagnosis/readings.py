"""The evidence as the likelihood meets it: dwell by regime, direct readings of settings, loop, sensor and gas."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.evidence.observation import Measured, Observation, Regime

REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
"""Regimes the steady model answers for, in the order of its operating points."""
OPEN_LOOP_SHARE = 0.5
"""Below this share of closed loop a regime's dwell is taken as commanded, not found by the loop, assumed. [-]"""
FULL_RICH_DUTY, FULL_LEAN_DUTY = 10.0 / 60.0, 50.0 / 60.0
"""A standing dwell under 10 or over 50 deg is a loop at its limit: common practice, no source. [-]"""
HELD_LIMITS = (0.09, 0.92)
"""Duty at which controllers of the period stop, assumed: 5 to 55 deg. [-]"""

Float = NDArray[np.float64]


@dataclass(frozen=True)
class Reading:
    """One merged reading: value and standard uncertainty in SI, and where it came from."""

    value: float
    uncertainty: float
    source: str
    wanted: float | None = None


@dataclass(frozen=True)
class Evidence:
    """Observations by what they measure and where, repeats merged.

    Args:
        table: merged readings.
        count: observations merged into it.
    """

    table: dict[tuple[Measured, Regime], Reading]
    count: int

    def get(self, measured: Measured, regime: Regime | None = None) -> Reading | None:
        """The reading of a quantity, in one regime or in whichever regime it was taken."""
        if regime is not None:
            return self.table.get((measured, regime))
        return next((reading for (what, _), reading in self.table.items() if what is measured), None)

    def is_open_loop(self, regime: Regime) -> bool:
        """Whether the command stood still at a value that is no limit."""
        share, duty = self.get(Measured.CLOSED_LOOP_SHARE, regime), self.get(Measured.DUTY, regime)
        if share is None or share.value >= OPEN_LOOP_SHARE:
            return False
        return duty is None or FULL_RICH_DUTY <= duty.value <= FULL_LEAN_DUTY


def gathered(observations: Sequence[Observation]) -> Evidence:
    """Evidence out of observations; readings of one thing in one regime are merged by their weights."""
    groups: dict[tuple[Measured, Regime], list[Observation]] = defaultdict(list)
    for seen in observations:
        if np.isfinite(seen.value) and np.isfinite(seen.uncertainty):
            groups[seen.measured, seen.regime].append(seen)
    return Evidence({key: _merged(seen) for key, seen in groups.items()}, len(observations))


def _merged(seen: list[Observation]) -> Reading:
    """Weighted mean; where readings differ by more than they claim, the doubt grows by as much (Birge's ratio)."""
    values = np.array([one.value for one in seen])
    sigmas = np.maximum([one.uncertainty for one in seen], 1e-12)
    weights = sigmas**-2
    mean = float(np.sum(weights * values) / np.sum(weights))
    scale = 1.0
    if len(seen) > 1:
        scale = max(1.0, float(np.sqrt(np.sum(weights * (values - mean) ** 2) / (len(seen) - 1))))
    sources = "; ".join(dict.fromkeys(one.source for one in seen))
    wanted = next((one.wanted for one in seen if one.wanted is not None), None)
    return Reading(mean, scale * float(np.sum(weights)) ** -0.5, sources, wanted)
