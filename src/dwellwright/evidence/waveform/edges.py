"""Which steps are the computer's switching: pulses, beats, gaps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.evidence.waveform.falls import driver_falls, usual_height
from dwellwright.evidence.waveform.scan import Steps
from dwellwright.evidence.waveform.types import Floats

EDGE_SHARE = 0.5
"""A rise of at least this share of the usual height is a release (assumed)."""
LONGEST_HELD = 3.0
"""Before the first and after the last edge, this many beats are still taken as the computer's. [beats]"""


@dataclass(frozen=True)
class Train:
    """Energized stretches in time order, seen with one polarity.

    Args:
        on: moment of energizing, shape (n,). [s]
        off: moment of the release that follows, shape (n,). [s]
        release_height, energize_height: usual heights of the two edges. [sample unit]
        orphans: releases with no energizing before them, shape (k,). [s]
        dangling: time from a last energizing to the end of the recording, 0 if it ends released. [s]
        duration: of the recording. [s]
        placed: energizing edges that were not seen, but placed where the beat or their neighbors say.
        placed_spread: standard uncertainty of such an edge. [s]
    """

    on: Floats
    off: Floats
    release_height: float
    energize_height: float
    orphans: Floats
    dangling: float
    duration: float
    placed: int = 0
    placed_spread: float = 0.0


@dataclass(frozen=True)
class Beat:
    """The computer's clock as the pulses show it.

    Args:
        period: usual time between pulses. [s]
        on_energizing: True if energizing keeps the beat, False if the release does.
        jitter: standard deviation of single beats. [s]
    """

    period: float
    on_energizing: bool
    jitter: float


def train(steps: Steps, sample_rate: float, upright: bool) -> Train:
    """Pulses of the recording if low (`upright`) or high means energized."""
    time, height = steps.time / sample_rate, steps.height if upright else -steps.height
    rising, falling = height > 0, height < 0
    release_height = usual_height(time[rising], height[rising])
    release = time[rising & (height >= EDGE_SHARE * max(release_height, 1e-30))]
    duration = steps.frames / sample_rate
    found, energize_height = driver_falls(time[falling], -height[falling], release, duration)
    return Train(
        found.on,
        release[found.has],
        release_height,
        energize_height,
        release[~found.has],
        found.dangling,
        duration,
        found.placed,
        found.spread,
    )


def beat(pulses: Train) -> Beat:
    """The usual period and which edge keeps it; needs three pulses."""
    choices = []
    for edge in (pulses.on, pulses.off):
        steps = np.diff(edge)
        period = float(np.median(steps))
        regular = steps[np.abs(steps - period) < 0.3 * period]
        spread = float(np.median(np.abs(regular - period))) if len(regular) else np.inf
        deviation = float(np.std(regular)) if len(regular) > 1 else 0.0
        choices.append((spread, deviation, float(np.mean(regular)) if len(regular) else period))
    on_energizing = choices[0][0] <= choices[1][0] * 1.05
    _, deviation, period = choices[0 if on_energizing else 1]
    return Beat(period, on_energizing, deviation)


def whole_periods(pulses: Train, clock: Beat) -> tuple[Floats, Floats, Floats]:
    """Start, length and energized time of each stretch from one beat edge to the next. [s]"""
    if clock.on_energizing:
        start, end = pulses.on[:-1], pulses.on[1:]
        energized = (pulses.off - pulses.on)[:-1]
    else:
        start, end = pulses.off[:-1], pulses.off[1:]
        energized = (pulses.off - pulses.on)[1:]
    readable = np.ones(len(start), bool)
    if len(pulses.orphans):
        holder = np.searchsorted(start, pulses.orphans, side="right") - 1
        inside = (holder >= 0) & (pulses.orphans < end[np.maximum(holder, 0)])
        readable[holder[inside]] = False
    return start[readable], (end - start)[readable], energized[readable]


def beats_in(period: Floats, clock: Beat) -> NDArray[np.int64]:
    """How many beats each stretch spans; 0 marks a pulse too many. [-]"""
    return np.rint(period / clock.period).astype(np.int64)


def held_time(pulses: Train, clock: Beat) -> tuple[float, float, float]:
    """Energized time, time covered (with the cut pulses at both ends), time left out at the ends. [s]

    A release before the first whole pulse ends one that began before the recording, or one whose beginning was not
    seen; in neither case was it energized for much longer than the next one.
    """
    _, period, energized = whole_periods(pulses, clock)
    width = pulses.off - pulses.on
    early = pulses.orphans[pulses.orphans < pulses.on[0]]
    head_on = min(float(early[0]), float(width[0])) if len(early) == 1 else 0.0
    if clock.on_energizing:
        head, tail = float(pulses.on[0]), pulses.duration - float(pulses.on[-1])
        tail_on = float(width[-1]) + pulses.dangling
    else:
        head, tail = float(pulses.off[0]), pulses.duration - float(pulses.off[-1])
        head_on, tail_on = head_on + float(width[0]), pulses.dangling
    covered, on_time, left_out = float(period.sum()), float(energized.sum()), 0.0
    for length, part in ((head, head_on), (tail, tail_on)):
        if length <= LONGEST_HELD * clock.period:
            covered, on_time = covered + length, on_time + part
        else:
            left_out += length
    return on_time, covered, left_out
