"""Which way up the wire was recorded, from the release spike, the asymmetry of the edges, and true volts."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np

from dwellwright.evidence.waveform.edges import Train
from dwellwright.evidence.waveform.scan import Steps
from dwellwright.evidence.waveform.types import Floats, Polarity, PolarityFinding

STRONG_RATIO, WEAK_RATIO = 2.0, 1.15
"""Height of one edge over the other that decides alone, and with a supporting overshoot (assumed)."""
STRONG_EXCESS, WEAK_EXCESS = 1.2, 0.2
"""Overshoot of one edge beyond the other, in smaller edges: decides alone, and supports (assumed)."""
OVERSHOOT_FIRST, OVERSHOOT_LAST = (0.15e-3, 0.4e-3, 1.0e-3), 5e-3
"""Moments after an edge at which a spike may stand, and at which it is over. [s]"""
HIDDEN_SHARE, HIDDEN_RATIO = 0.5, 2.2
"""With so much of the shorter level at the recorder's limit its end looks the taller edge, whichever it is: up to
twice where the input droops fast. Only a ratio beyond that still decides (assumed)."""
SPIKE_TIME = 3e-3
"""A level shorter than this may be all spike. [s]"""
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


def polarity_finding(
    steps: Steps, normal: Train, reverse: Train, sample_rate: float, volts: bool
) -> PolarityFinding:
    """The decision, or UNDECIDED, with its evidence in words."""
    signs = _signs(steps, normal, reverse, sample_rate, volts)
    votes = [signs.levels * 3, _vote(signs.ratio, log(WEAK_RATIO), log(STRONG_RATIO))]
    votes.append(_vote(signs.excess, WEAK_EXCESS, STRONG_EXCESS))
    total, conflict = sum(votes), min(votes) < 0 < max(votes)
    evidence = _evidence(signs)
    hidden = not signs.levels and _hidden(signs, steps, normal, reverse, sample_rate)
    if conflict or hidden or abs(total) < 2:
        return PolarityFinding(Polarity.UNDECIDED, 0.5, (*evidence, _doubt(conflict, hidden)))
    strength = 3 * abs(signs.levels) + min(3.0, 2 * abs(signs.ratio)) + min(2.0, abs(signs.excess))
    polarity = Polarity.NORMAL if total > 0 else Polarity.REVERSED
    return PolarityFinding(polarity, 1 - 0.5 * exp(-strength), evidence)


def _doubt(conflict: bool, hidden: bool) -> str:
    if hidden:
        return "A level lies beyond the recorder's limit, so its edges prove little: turn the recording level down."
    if conflict:
        return "The signs contradict each other."
    return "Both edges look alike, so nothing tells the levels apart."


def _vote(value: float, weak: float, strong: float) -> int:
    """-2 to 2: two where the sign decides alone, one where it needs company."""
    size = 2 if abs(value) >= strong else 1 if abs(value) >= weak else 0
    return size if value > 0 else -size


def _signs(steps: Steps, normal: Train, reverse: Train, sample_rate: float, volts: bool) -> _Signs:
    """Each polarity is asked on its own terms: a spike's sharp end makes two falls out of one."""
    ratio = (_ratio(normal) - _ratio(reverse)) / 2
    excess = (_excess(steps, normal, sample_rate, True) + _excess(steps, reverse, sample_rate, False)) / 2
    return _Signs(ratio, excess, _levels(steps, normal, sample_rate) if volts else 0)


def _hidden(signs: _Signs, steps: Steps, normal: Train, reverse: Train, sample_rate: float) -> bool:
    """Whether clipping may have made the signs."""
    if abs(signs.ratio) >= log(HIDDEN_RATIO):
        return False
    weak = abs(signs.ratio) < log(STRONG_RATIO) and abs(signs.excess) < STRONG_EXCESS
    if weak and steps.clipped_fraction > 0 and all(_all_spike(pulses) for pulses in (normal, reverse)):
        return True
    return all(_cut_short(steps, pulses, sample_rate) for pulses in (normal, reverse))


def _all_spike(pulses: Train) -> bool:
    """Whether the shorter of the two levels may be nothing but a spike."""
    energized, released = np.median(pulses.off - pulses.on), np.median(pulses.on[1:] - pulses.off[:-1])
    return bool(min(energized, released) < SPIKE_TIME)


def _cut_short(steps: Steps, pulses: Train, sample_rate: float) -> bool:
    """Whether the shorter of the two levels was clipped over most of its length."""
    on = pulses.on * sample_rate - steps.head_start
    off = pulses.off * sample_rate - steps.head_start
    seen = (on[:-1] >= 0) & (on[1:] < len(steps.head))
    if not seen.any():
        return False
    energized, released = (off - on)[:-1][seen], (on[1:] - off[:-1])[seen]
    short_on = float(np.median(energized)) < float(np.median(released))
    starts, lengths = (on[:-1][seen], energized) if short_on else (off[:-1][seen], released)
    inside = [
        steps.head[int(start) + 1 : int(start + length)]
        for start, length in zip(starts, lengths, strict=True)
    ]
    level = np.concatenate(inside)
    limits = (steps.lowest, steps.highest)
    return (
        bool(len(level))
        and steps.clipped_fraction > 0
        and float(np.isin(level, limits).mean()) > HIDDEN_SHARE
    )


def _ratio(pulses: Train) -> float:
    return log(max(pulses.release_height, 1e-30) / max(pulses.energize_height, 1e-30))


def _excess(steps: Steps, pulses: Train, sample_rate: float, upright: bool) -> float:
    """Overshoot upward after both edges together, in heights of the smaller edge; even droop cancels. [-]"""
    on = pulses.on * sample_rate - steps.head_start
    off = pulses.off * sample_rate - steps.head_start
    after_release = _overshoot(steps, off, on, sample_rate, upright)
    after_energizing = _overshoot(steps, on, off, sample_rate, not upright)
    smaller = max(min(pulses.release_height, pulses.energize_height), 1e-30)
    excess = (after_release + after_energizing) / smaller
    return float(excess) if np.isfinite(excess) else 0.0


def _overshoot(steps: Steps, edges: Floats, others: Floats, sample_rate: float, rising: bool) -> float:
    """Median over the edges of the furthest early level minus the level when a spike is over. [sample unit]

    The furthest, not the first: a release slowed by a suppressor creeps up and would look like a droop.
    """
    size = len(steps.head)
    width = max(1, int(OVERSHOOT_FIRST[0] * sample_rate / 2))
    edges = edges[(edges >= 0) & (edges < size)]
    following = np.append(others, np.inf)[np.searchsorted(others, edges, side="right")]
    late = np.minimum(edges + OVERSHOOT_LAST * sample_rate, edges + 0.9 * (following - edges)).astype(
        np.int64
    )
    soon = [(edges + first * sample_rate).astype(np.int64) for first in OVERSHOOT_FIRST]
    fits = (late < size) & (late - width > soon[0] + width)
    if not fits.any():
        return float("nan")
    total = np.concatenate([[0.0], np.cumsum(steps.head, dtype=np.float64)])
    settled = total[late[fits]] - total[late[fits] - width]
    early = [np.minimum(place[fits], late[fits] - width) for place in soon]
    levels = np.stack([total[place + width] - total[place] for place in early])
    furthest = levels.max(axis=0) if rising else levels.min(axis=0)
    return float(np.median(furthest - settled)) / width


def _levels(steps: Steps, normal: Train, sample_rate: float) -> int:
    """+1 if the low level is near ground and the high one a car's supply, -1 if upside down, else 0."""
    head_on = normal.on * sample_rate - steps.head_start
    head_off = normal.off * sample_rate - steps.head_start
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
