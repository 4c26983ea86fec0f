"""The evidence as the likelihood meets it: dwell by regime, direct readings of settings, loop, sensor and gas."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

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

FINEST, VAGUEST = 1e-9, 10.0
"""Least and largest doubt of a reading, as shares of the range in which it can lie at all. [-]"""

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
        refused: what was left out because it cannot be, a sentence each.
    """

    table: dict[tuple[Measured, Regime], Reading]
    count: int
    refused: tuple[str, ...] = ()

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
    """Evidence out of observations; readings of one thing in one regime are merged by their weights.

    What no engine or meter can show is left out and named.
    """
    groups: dict[tuple[Measured, Regime], list[Observation]] = defaultdict(list)
    refused = []
    for seen in observations:
        low, high = possible()[seen.measured]
        if not np.isfinite(seen.value) or not np.isfinite(seen.uncertainty):
            continue
        if (
            not low <= seen.value <= high
            or not low <= (seen.value if seen.wanted is None else seen.wanted) <= high
        ):
            refused.append(_refusal(seen))
            continue
        groups[seen.measured, seen.regime].append(seen)
    table = {key: _merged(seen, *possible()[key[0]]) for key, seen in groups.items()}
    return Evidence(table, len(observations), tuple(refused))


def _refusal(seen: Observation) -> str:
    low, high = possible()[seen.measured]
    odd, what = (seen.value, "reading") if not low <= seen.value <= high else (seen.wanted, "figure wanted")
    return (
        f"The {what} of {seen.measured.value.replace('_', ' ')} ({seen.source}) cannot be {odd:g} in SI units, "
        f"{low:g} to {high:g} can: it was left out; check its unit and repeat it."
    )


@cache
def possible() -> dict[Measured, tuple[float, float]]:
    """Least and largest value that each kind of reading can have. [SI; turns for screws]"""
    text = files("dwellwright.catalogue").joinpath("data/possible_readings.toml").read_text(encoding="utf-8")
    tree = tomllib.loads(text)
    return {Measured(name): tuple(tree[kind]) for kind, names in tree["names"].items() for name in names}


def _merged(seen: list[Observation], low: float, high: float) -> Reading:
    """Weighted mean; where readings differ by more than they claim, the doubt grows by as much (Birge's ratio)."""
    values = np.array([one.value for one in seen])
    width = high - low  # a doubt beyond all that can be says nothing, and one of nothing is not believed
    sigmas = np.clip([one.uncertainty for one in seen], FINEST * width, VAGUEST * width)
    weights = sigmas**-2
    mean = float(np.sum(weights * values) / np.sum(weights))
    scale = 1.0
    if len(seen) > 1:
        scale = max(1.0, float(np.sqrt(np.sum(weights * (values - mean) ** 2) / (len(seen) - 1))))
    sources = "; ".join(dict.fromkeys(one.source for one in seen))
    wanted = next((one.wanted for one in seen if one.wanted is not None), None)
    return Reading(mean, scale * float(np.sum(weights)) ** -0.5, sources, wanted)
