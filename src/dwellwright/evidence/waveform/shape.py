"""The mean shape of one pulse, and the kinks that a moving armature leaves in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.polynomial import polyfit, polyval
from numpy.typing import NDArray

from dwellwright.evidence.waveform.edges import Train
from dwellwright.evidence.waveform.scan import Steps
from dwellwright.evidence.waveform.types import Floats, Plot

GRID = 0.2e-3
"""Step of the mean shape. [s]"""
FEWEST = 12
"""Pulses averaged at least before a kink is believed."""
KINK_FIRST, KINK_LAST = 2.5e-3, 25e-3
"""An armature of this kind arrives within this time after its edge (design range 2-10 ms, doubled). [s]"""
ARM = 1.2e-3
"""A kink is sought with chords this long on both sides. [s]"""
KINK_FACTOR = 8.0
"""A kink stands out of the usual curvature by this many median deviations (assumed)."""


@dataclass(frozen=True)
class Shape:
    """Mean pulse and the kinks found in it; None where no kink stands out."""

    plot: Plot
    pull_in: float | None
    drop_out: float | None


def pulse_shape(
    steps: Steps, train: Train, sample_rate: float, period: float, full_scale: float | None
) -> Shape:
    """Mean of the pulses of usual width in the stretch kept in memory, aligned on energizing; volts where there is no
    full scale. A working loop's pulses differ in width, and the mean of all of them would have no release edge.
    """
    on = train.on * sample_rate - steps.head_start
    off = train.off * sample_rate - steps.head_start
    width = train.off - train.on
    whole = _aligned(steps, on[_usual(steps, on, width)], -0.1 * period, 0.9 * period, sample_rate)
    rest = (train.on[1:] - train.off[:-1]) if len(train.on) > 1 else np.zeros(0)
    time = np.asarray(np.arange(whole.shape[1]) * GRID - 0.1 * period, dtype=np.float64)
    mean = whole.mean(axis=0) if len(whole) else np.zeros(len(time))
    return Shape(
        Plot(
            "mean pulse, V" if full_scale is None else "mean pulse, share of full scale",
            time,
            np.asarray(mean / (full_scale or 1.0), dtype=np.float64),
        ),
        _kink(steps, on, float(np.percentile(width, 10)), sample_rate),
        _kink(steps, off, float(np.percentile(rest, 10)) if len(rest) else 0.0, sample_rate),
    )


def _usual(steps: Steps, on: Floats, width: Floats) -> NDArray[np.bool_]:
    """Which of the pulses in memory are as wide as the median, to a step of the grid; the nearest few at least."""
    inside = (on >= 0) & (on < len(steps.head))
    if not inside.any():
        return inside
    off = np.abs(width - np.median(width[inside]))
    few = np.sort(off[inside])[: FEWEST // 2]
    return np.asarray(inside & (off <= max(GRID / 2, float(few[-1]))), dtype=np.bool_)


def _aligned(steps: Steps, edges: Floats, first: float, last: float, sample_rate: float) -> Floats:
    """One row per edge, averaged onto a common grid, shape (edges, points)."""
    points = max(1, int((last - first) / GRID))
    grid = (first + np.arange(points + 1) * GRID) * sample_rate
    fits = (edges + grid[0] >= 0) & (edges + grid[-1] < len(steps.head) - 1)
    total = np.concatenate([[0.0], np.cumsum(steps.head, dtype=np.float64)])
    place = edges[fits][:, None] + grid[None, :]
    area = np.interp(place, np.arange(len(total)), total)
    return np.asarray(np.diff(area, axis=1) / (GRID * sample_rate), dtype=np.float64)


def _kink(steps: Steps, edges: Floats, room: float, sample_rate: float) -> float | None:
    """Time after the edge at which the mean level bends most sharply, if it stands out. [s]"""
    first, last = KINK_FIRST - ARM, min(KINK_LAST, room - 1e-3)
    if last - first < 6 * ARM:
        return None
    rows = _aligned(steps, edges, first, last, sample_rate)
    if len(rows) < FEWEST:
        return None
    halves = [_bend(rows[part::2].mean(axis=0)) for part in (0, 1)]
    bend = (halves[0] + halves[1]) / 2
    doubt = float(np.median(np.abs(halves[0] - halves[1]))) / 2 + 1e-12
    usual = float(np.median(np.abs(bend))) + 1e-12
    place = int(np.argmax(np.abs(bend)))
    stands_out = abs(bend[place]) > KINK_FACTOR * max(doubt, usual / 2)
    inside = 2 <= place < len(bend) - 2
    repeated = all(abs(int(np.argmax(np.abs(half))) - place) <= 2 for half in halves)
    if not (stands_out and inside and repeated):
        return None
    arm = round(ARM / GRID)
    return first + (place + arm + 0.5) * GRID


def _bend(level: Floats) -> Floats:
    """Second difference over both arms, with its own smooth course taken out."""
    arm = round(ARM / GRID)
    bend = level[2 * arm :] - 2 * level[arm:-arm] + level[: -2 * arm]
    x = np.linspace(-1, 1, len(bend))
    weight = np.ones(len(bend))
    smooth = np.zeros(len(bend))
    for _ in range(4):
        smooth = np.asarray(polyval(x, polyfit(x, bend, 3, w=weight)), dtype=np.float64)
        spread = float(np.median(np.abs(bend - smooth))) + 1e-12
        weight = 1 / (1 + ((bend - smooth) / (3 * spread)) ** 2)
    return np.asarray(bend - smooth, dtype=np.float64)
