"""Invented recordings of a switched solenoid wire, with the truth known; shared by benchmarks and tests.

The wire is drawn from exact edge times at an inner rate several times the recorder's, coupled, and resampled
with a linear-phase filter, so nothing in it comes from the reader's own idea of an edge.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter, resample_poly

Floats = NDArray[np.float64]
INNER_RATE = 192000.0


@dataclass(frozen=True)
class Recipe:
    """What to synthesise; times in seconds, levels in volts, `gain` in full scales per volt."""

    sample_rate: int = 48000
    duration: float = 10.0
    rate: float = 10.0
    duty: float = 0.5
    swing: float = 0.0
    swing_period: float = 1.5
    clock_on_release: bool = False
    jitter: float = 0.0
    battery: float = 13.8
    spike: float = 36.0
    clamp_time: float = 1.0e-3
    decay: float = 0.3e-3
    pull_in: float = 0.0
    poles: tuple[float, ...] = ()
    low_pass: float = 0.0
    hum: float = 0.0
    hum_frequency: float = 60.0
    tick_rate: float = 0.0
    tick: float = 0.0
    tick_time: float = 0.1e-3
    snr: float = np.inf
    gain: float = 1 / 60
    reversed: bool = False
    dropped: tuple[int, ...] = ()
    doubled: tuple[int, ...] = ()
    seed: int = 0


@dataclass(frozen=True)
class Synthetic:
    """Samples in full scales and the truth about them."""

    samples: Floats
    sample_rate: int
    on: Floats
    off: Floats
    duty: float
    fraction: float
    recipe: Recipe = field(default_factory=Recipe)


def edges(recipe: Recipe) -> tuple[Floats, Floats]:
    """Exact moments of energizing and release."""
    rng = np.random.default_rng(recipe.seed)
    period = 1 / recipe.rate
    beat = np.arange(-1, int(recipe.duration * recipe.rate) + 2) * period + rng.uniform(0, period)
    beat = beat + rng.normal(0, recipe.jitter, len(beat))
    phase = rng.uniform(0, recipe.swing_period)
    saw = 2 * np.abs(2 * (((beat + phase) / recipe.swing_period) % 1) - 1) - 1
    duty = np.clip(recipe.duty + recipe.swing * saw, 0.02, 0.98)
    width = duty * period
    on, off = (beat, beat + width) if not recipe.clock_on_release else (beat - width, beat)
    off[:-1] = np.minimum(off[:-1], on[1:] - 0.018 * period)
    on[1:] = np.maximum(on[1:], off[:-1] + 0.018 * period)
    keep = np.ones(len(on), bool)
    keep[list(recipe.dropped)] = False
    extra_on = [on[i] + (off[i] - on[i]) * 2 / 5 for i in recipe.doubled]
    extra_off = [on[i] + (off[i] - on[i]) * 1 / 5 for i in recipe.doubled]
    return np.sort(np.concatenate([on[keep], extra_on])), np.sort(np.concatenate([off[keep], extra_off]))


def wire(recipe: Recipe, on: Floats, off: Floats, rate: float) -> Floats:
    """Volts of the wire at the inner rate."""
    time = np.arange(int(recipe.duration * rate)) / rate
    level = np.full(len(time), recipe.battery)
    tail = 12 * recipe.decay + recipe.clamp_time
    for start, end in zip(on, off, strict=True):
        a, b = np.searchsorted(time, [start, end])
        since = time[a:b] - start
        current = 1 - np.exp(-since / 8e-3)
        if recipe.pull_in:
            current -= (
                0.15 * np.exp(-(np.maximum(0, since - recipe.pull_in) / 4e-3)) * (since > recipe.pull_in)
            )
            current -= 0.15 * np.clip(1 - (recipe.pull_in - since) / 2e-3, 0, 1) * (since <= recipe.pull_in)
        level[a:b] = 0.3 + 0.9 * current
        c = np.searchsorted(time, end + tail)
        if recipe.spike:
            past = time[b:c] - end
            flyback = recipe.spike * np.where(
                past < recipe.clamp_time, 1 - 0.1 * past / max(recipe.clamp_time, 1e-9),
                0.9 * np.exp(-(past - recipe.clamp_time) / recipe.decay),
            )  # fmt: skip
            level[b:c] += flyback
    for start, end in zip(on, off, strict=True):
        a, b = np.searchsorted(time, [start, end])
        level[a:b] = np.minimum(level[a:b], 0.3 + 0.9)
    return level


def synthetic(recipe: Recipe) -> Synthetic:
    """The recording and its truth."""
    rng = np.random.default_rng(recipe.seed + 1)
    on, off = edges(recipe)
    factor = max(1, int(np.ceil(INNER_RATE / recipe.sample_rate)))
    inner = float(recipe.sample_rate * factor)
    level = wire(recipe, on, off, inner)
    if recipe.tick_rate:
        width = max(1, int(recipe.tick_time * inner))
        for place in rng.integers(0, len(level) - 3 * width, int(recipe.tick_rate * recipe.duration)):
            ring = np.exp(-np.arange(3 * width) / width) * np.cos(np.arange(3 * width) * np.pi / width)
            level[place : place + 3 * width] += recipe.tick * rng.choice([-1, 1]) * rng.uniform(0.5, 1) * ring
    level = level + recipe.hum * np.sin(
        2 * np.pi * recipe.hum_frequency * np.arange(len(level)) / inner + 1.0
    )
    for pole in recipe.poles:
        keep = np.exp(-2 * np.pi * pole / inner)
        level = lfilter([(1 + keep) / 2, -(1 + keep) / 2], [1, -keep], level - level[0]) + 0.0
    if recipe.low_pass:
        keep = np.exp(-2 * np.pi * recipe.low_pass / inner)
        level = lfilter([1 - keep], [1, -keep], level)
    samples = resample_poly(level, 1, factor) if factor > 1 else level
    if np.isfinite(recipe.snr):
        samples = samples + rng.normal(0, noise_deviation(recipe), len(samples))
    samples = np.clip(samples * recipe.gain * (-1 if recipe.reversed else 1), -1, 1)
    inside = np.clip(off, 0, recipe.duration) - np.clip(on, 0, recipe.duration)
    return Synthetic(
        samples, recipe.sample_rate, on, off, recipe.duty, float(inside.sum() / recipe.duration), recipe
    )


def noise_deviation(recipe: Recipe) -> float:
    """White noise that leaves `snr` decibels under the square wave between supply and ground. [V]"""
    square = recipe.battery / 2
    return float(square * 10 ** (-recipe.snr / 20))
