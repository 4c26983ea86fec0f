"""Slow drifts of the mean dwell, in plain sentences: heat soak, a purge canister that empties."""

from __future__ import annotations

from math import sqrt

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace.averages import Mean
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.loop_features import RegimeSummary

DRIFT = 0.02
"""A drift of the mean duty over a stretch worth saying: 1.2 deg on the six-cylinder scale. (assumed)"""
NAMES = {
    Regime.IDLE: "idle",
    Regime.FAST_NO_LOAD: "fast no-load",
    Regime.CRUISE: "cruise",
}


def drift_sentences(regimes: dict[Regime, RegimeSummary], others: tuple[RegimeSummary, ...]) -> list[str]:
    """Drifts within a stretch, slow settlings before it, and differences between stretches of one regime."""
    said = []
    for regime, name in NAMES.items():
        summary = regimes.get(regime)
        if summary is None or summary.duty is None:
            continue
        mean = summary.duty.mean
        moved = mean.slope * summary.duration
        if abs(mean.slope) > 3.0 * mean.slope_uncertainty and abs(moved) > DRIFT:
            said.append(
                f"At {name} the mean dwell drifts by {60 * moved:+.1f} deg (six-cylinder scale) within "
                f"{summary.duration:.0f} s: heat soak, or a purge canister that empties?"
            )
        else:
            said += _settling(summary, mean, name)
        for other in others:
            if other.regime is not regime or other.duty is None or not _same_point(summary, other):
                continue
            apart = mean.value - other.duty.mean.value
            doubt = sqrt(mean.uncertainty**2 + other.duty.mean.uncertainty**2)
            if abs(apart) > max(3.0 * doubt, DRIFT):
                said.append(
                    f"At {name} the mean dwell differs by {60 * apart:+.1f} deg (six-cylinder scale) between "
                    f"{other.begin:.0f} s and {summary.begin:.0f} s."
                )
    return said


def _same_point(one: RegimeSummary, two: RegimeSummary) -> bool:
    for channel, share in ((Channel.ENGINE_SPEED, 0.08), (Channel.MANIFOLD_PRESSURE, 0.08)):
        if channel in one.engine and channel in two.engine:
            a, b = one.engine[channel].value, two.engine[channel].value
            if abs(a - b) > share * abs(a):
                return False
    return True


def _settling(summary: RegimeSummary, late: Mean, name: str) -> list[str]:
    early = summary.early
    if early is None:
        return []
    apart = late.value - early.value
    doubt = sqrt(late.uncertainty**2 + early.uncertainty**2)
    if not abs(apart) > max(3.0 * doubt, DRIFT):
        return []
    moved = f"moved by {60 * apart:+.1f} deg (six-cylinder scale) in the {summary.settling:.0f} s before it settled"
    return [
        f"At {name} the mean dwell {moved}, which are left out: a purge canister that empties, or heat soak?"
    ]
