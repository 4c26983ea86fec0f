"""Which way up the wire was recorded, from the release spike, the asymmetry of the edges, and true volts."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np

from dwellwright.evidence.waveform_edges import Train
from dwellwright.evidence.waveform_scan import Steps
from dwellwright.evidence.waveform_types import Floats, Polarity, PolarityFinding

STRONG_RATIO, WEAK_RATIO = 1.6, 1.25
"""Height of one edge over the other that decides alone, and with a supporting overshoot (assumed)."""
STRONG_EXCESS, WEAK_EXCESS = 1.2, 0.4
"""Overshoot of one edge beyond the other, in smaller edges: decides alone, and supports (assumed)."""
OVERSHOOT_FIRST, OVERSHOOT_LAST = 0.2e-3, 5e-3
"""Stretch after an edge in which a spike rises and has fallen again. [s]"""
LOW_LEVEL, BATTERY_LOW, BATTERY_HIGH = 2.5, 7.0, 17.0
"""A driver that conducts leaves less than this; a car's supply lies between these. [V]"""


@dataclass(frozen=True)
class _Signs:
    """What the signal says, positive for normal.

    Args:
        ratio: natural logarithm of rising over falling edge height.
        excess: overshoot after rising minus that after falling edges, in heights of the smaller edge.
        levels: +1, -1 or 0: true volts that fit one polarity only.
    """

    ratio: float
    excess: float
    levels: int


def polarity_finding(steps: Steps, normal: Train, sample_rate: float, volts: bool) -> PolarityFinding:
    """The decision, or UNDECIDED, with its evidence in words."""
    signs = _signs(steps, normal, sample_rate, volts)
    votes = [signs.levels * 3, _vote(signs.ratio, log(WEAK_RATIO), log(STRONG_RATIO))]
    votes.append(_vote(signs.excess, WEAK_EXCESS, STRONG_EXCESS))
    total, conflict = sum(votes), min(votes) < 0 < max(votes)
    evidence = _evidence(signs)
    if conflict or abs(total) < 2:
        doubt = (
            "The signs contradict each other."
            if conflict
            else "Both edges look alike, so nothing tells the levels apart."
        )
        return PolarityFinding(Polarity.UNDECIDED, 0.5, (*evidence, doubt))
    strength = 3 * abs(signs.levels) + min(3.0, 2 * abs(signs.ratio)) + min(2.0, abs(signs.excess))
    polarity = Polarity.NORMAL if total > 0 else Polarity.REVERSED
    return PolarityFinding(polarity, 1 - 0.5 * exp(-strength), evidence)


def _vote(value: float, weak: float, strong: float) -> int:
    """-2 to 2: two where the sign decides alone, one where it needs company."""
    size = 2 if abs(value) >= strong else 1 if abs(value) >= weak else 0
    return size if value > 0 else -size


def _signs(steps: Steps, normal: Train, sample_rate: float, volts: bool) -> _Signs:
    rise, fall = normal.release_height, normal.energize_height
    smaller = max(min(rise, fall), 1e-30)
    head_on = normal.on * sample_rate - steps.head_start
    head_off = normal.off * sample_rate - steps.head_start
    up = _overshoot(steps, head_off, head_on, sample_rate)
    down = _overshoot(steps, head_on, head_off, sample_rate)
    excess = (up - -down) / smaller if np.isfinite(up) and np.isfinite(down) else 0.0
    return _Signs(
        log(max(rise, 1e-30) / max(fall, 1e-30)),
        float(excess),
        _levels(steps, head_on, head_off) if volts else 0,
    )


def _overshoot(steps: Steps, edges: Floats, others: Floats, sample_rate: float) -> float:
    """Mean of (level soon after the edge) minus (level when a spike is over); signed. [sample unit]"""
    first, last = OVERSHOOT_FIRST * sample_rate, OVERSHOOT_LAST * sample_rate
    width = max(1, int(first / 2))
    found = []
    for edge in edges[(edges > 0) & (edges < len(steps.head))]:
        after = others[others > edge]
        room = (after[0] - edge if len(after) else np.inf) * 0.9
        late = int(edge + min(last, room))
        early = int(edge + first)
        if late - width > early and late < len(steps.head):
            found.append(steps.head[early : early + width].mean() - steps.head[late - width : late].mean())
    return float(np.median(found)) if found else np.nan


def _levels(steps: Steps, head_on: Floats, head_off: Floats) -> int:
    """+1 if the low level is near ground and the high one a car's supply, -1 if upside down, else 0."""
    before_on = [steps.head[int(e) - 4] for e in head_on if 4 <= e < len(steps.head)]
    before_off = [steps.head[int(e) - 4] for e in head_off if 4 <= e < len(steps.head)]
    if not before_on or not before_off:
        return 0
    high, low = float(np.median(before_on)), float(np.median(before_off))
    if abs(low) < LOW_LEVEL and BATTERY_LOW < high < BATTERY_HIGH:
        return 1
    if abs(high) < LOW_LEVEL and -BATTERY_HIGH < low < -BATTERY_LOW:
        return -1
    return 0


def _evidence(signs: _Signs) -> tuple[str, ...]:
    taller = "rising" if signs.ratio > 0 else "falling"
    words = [f"The {taller} edge is {exp(abs(signs.ratio)):.2f} times as tall as the other."]
    side = "rising" if signs.excess > 0 else "falling"
    if abs(signs.excess) >= WEAK_EXCESS:
        words.append(
            f"A spike of {abs(signs.excess):.1f} times the smaller edge follows the {side} edge: the release."
        )
    else:
        words.append("Neither edge is followed by a clear spike.")
    if signs.levels > 0:
        words.append("The low level is near ground and the high level is a car's supply voltage.")
    elif signs.levels < 0:
        words.append("The high level is near ground and the low level is a car's supply voltage upside down.")
    return tuple(words)
