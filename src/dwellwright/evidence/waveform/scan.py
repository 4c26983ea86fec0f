"""Every step of a recording, found in one pass over its blocks, in bounded memory."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform.files import Block, Recording
from dwellwright.evidence.waveform.kernels import (
    CELL,
    float_bin_means,
    largest_steps,
    refine_steps,
    sharpest_places,
    short_bin_means,
    step_places,
)
from dwellwright.evidence.waveform.types import Floats

BIN_TIME = 0.35e-3
"""Width of the bins in which steps are first sought. [s]"""
COARSE_RATE, FINE_RATE = 2 * CELL * 1000.0, 4 * CELL * 1000.0
"""Slower samples are repeated to come to this: a bin is at least `CELL` of them. Below the second, steps are sought in
shorter bins too. [Hz]"""
CLOSE = 3
"""What shorter bins find is another step if it is so far from the others. [samples]"""
EDGE_HALF_TIME, LEVEL_TIME, SHARP_TIME = 0.1e-3, 0.25e-3, 0.1e-3
"""Half width of an edge, of the level beside it, and of the search for the sharpest place. [s]"""
SEGMENT_TIME = 0.5
"""Each such stretch holds at least two releases at 5 Hz; its largest step sets the scale. [s]"""
NOISE_FACTOR, SCALE_FACTOR = 4.5, 0.08
"""A step counts beyond this many noise deviations and this share of the usual largest step (assumed)."""
SHARPEST_SHARE = 0.45
"""A real edge passes this share of its height within its sharpest stretch; a spike's decay does not."""
NOISE_SAMPLE = 600
"""Bins looked at for the noise of a block."""
MOST_STEPS = 160.0
"""Steps kept per second at most; 20 Hz makes 40, ticks and spike ends the rest. [Hz]"""
LARGEST_SAMPLE = 1e9
"""A floating-point sample beyond this is damage, not sound. [sample unit]"""
CLIP_EVERY = 8
"""After the first minute, clipping is counted in every eighth block."""


@dataclass(frozen=True)
class Steps:
    """Steps of one channel in time order.

    Args:
        time: shape (n,). [samples]
        height: level after minus level before, shape (n,). [sample unit]
        head: a stretch of raw samples in which pulses were seen.
        head_start: index of its first sample.
        frames: samples in the channel.
        lowest, highest: extremes of the channel. [sample unit]
        clipped_fraction: share of samples at an extreme that repeats. [-]
        noise: usual standard deviation of a level in one bin. [sample unit]
    """

    time: Floats
    height: Floats
    head: NDArray[np.float32]
    head_start: int
    frames: int
    lowest: float
    highest: float
    clipped_fraction: float
    noise: float


@dataclass
class _Channel:
    """What is collected of one channel while streaming."""

    sample_rate: float
    times: list[Floats] = field(default_factory=list)
    heights: list[Floats] = field(default_factory=list)
    noises: list[float] = field(default_factory=list)
    head: NDArray[np.float32] = field(default_factory=lambda: np.zeros(0, np.float32))
    head_start: int = 0
    head_steps: int = 0
    lowest: float = np.inf
    highest: float = -np.inf
    counted: int = 0
    at_limit: dict[float, int] = field(default_factory=dict)
    means: NDArray[np.float32] = field(default_factory=lambda: np.zeros(0, np.float32))


def scanned(recording: Recording, channel: int | None) -> list[Steps]:
    """Steps of the chosen channel, or of every channel.

    Raises:
        InputFault: no such channel, not-a-number samples, or fewer samples than promised.
    """
    if channel is not None and not 0 <= channel < recording.channels:
        raise InputFault(
            "no such channel",
            where=recording.source,
            wanted=f"0 to {recording.channels - 1}",
            got=str(channel),
        )
    wanted = range(recording.channels) if channel is None else (channel,)
    parts = {index: _Channel(recording.sample_rate) for index in wanted}
    frames = 0
    for number, block in enumerate(recording.blocks):
        frames = block.start + block.channels.shape[1]
        for index, part in parts.items():
            _scan_block(part, block, block.channels[index], number, recording.source)
    return [_finished(part, frames) for part in parts.values()]


def _scan_block(part: _Channel, block: Block, samples: NDArray[Any], number: int, source: str) -> None:
    seen = _seen(part, samples, COARSE_RATE)
    if samples.dtype != np.int16:
        _refuse_gaps(part.means[: seen.bins], block, samples, source)
    _count_limits(part, samples, block, number)
    part.noises.append(seen.noise)
    places, signs = _sharpest(part.sample_rate, samples, seen, max(3, round(1.5 * seen.width)), peaks=False)
    if part.sample_rate < FINE_RATE:
        places, signs = _with_close_ones(part, samples, places, signs)
    _refine(part, block, samples, places, signs)


@dataclass(frozen=True)
class _Seen:
    """Bins of a block in which a step stands out: their middles [samples], directions, width [samples], how many
    bins were looked at, and the noise of one."""

    middle: NDArray[np.int64]
    sign: NDArray[np.int64]
    width: float
    bins: int
    noise: float


def _seen(part: _Channel, samples: NDArray[Any], least_rate: float) -> _Seen:
    """Steps sought in bins; samples slower than `least_rate` are repeated, so that a bin may be short."""
    rate = part.sample_rate
    repeat = max(1, int(np.ceil(least_rate / rate)))
    coarse, coarse_rate = (np.repeat(samples, repeat), rate * repeat) if repeat > 1 else (samples, rate)
    cells = max(1, round(BIN_TIME * coarse_rate / CELL))
    if len(part.means) < len(coarse) // (cells * CELL):
        part.means = np.empty(len(coarse) // (cells * CELL) + 1, np.float32)
    bin_means = short_bin_means if samples.dtype == np.int16 else float_bin_means
    count = bin_means(coarse, cells, part.means)
    threshold, noise = _threshold(part.means, count, cells * CELL / coarse_rate)
    places = np.empty(max(16, count // 4), np.int64)
    found = step_places(part.means, count, threshold, places)
    chosen = _strongest(part.means, places[:found], int(MOST_STEPS * len(samples) / rate) + 16)
    width = cells * CELL / repeat
    sign = np.where(part.means[chosen + 1] > part.means[chosen - 1], 1, -1)
    return _Seen(((chosen + 0.5) * width).astype(np.int64), sign, width, count, noise)


def _sharpest(
    rate: float, samples: NDArray[Any], seen: _Seen, search: int, *, peaks: bool
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Where the steps are sharpest, in order, and their directions; one cut by the block's end is left to the next."""
    reach, half, level, _, _ = _layout(rate)
    margin = search + reach + half + level + 2
    inside = (seen.middle >= margin) & (seen.middle + margin < len(samples))
    middle, sign = seen.middle[inside], seen.sign[inside]
    places = np.empty(len(middle), np.int64)
    sharpest_places(samples, middle, sign, search, reach, peaks, places)
    found = places >= 0
    _, once = np.unique(2 * places[found] + (sign[found] > 0), return_index=True)
    return places[found][once], sign[found][once]


def _with_close_ones(
    part: _Channel, samples: NDArray[Any], places: NDArray[np.int64], signs: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The steps, and those that shorter bins find between them: a driver's edge just behind the end of a spike."""
    fine = _seen(part, samples, FINE_RATE)
    more, more_signs = _sharpest(part.sample_rate, samples, fine, max(2, round(fine.width)), peaks=True)
    apart = np.ones(len(more), np.bool_)
    if len(places):
        after = np.searchsorted(places, more)
        for neighbor in (np.maximum(after - 1, 0), np.minimum(after, len(places) - 1)):
            apart &= np.abs(places[neighbor] - more) >= CLOSE
    every, every_sign = np.append(places, more[apart]), np.append(signs, more_signs[apart])
    order = np.argsort(every, kind="stable")
    return every[order], every_sign[order]


def _layout(rate: float) -> tuple[int, int, int, int, int]:
    """Sharpness reach; half an edge and width of a level, usual and where another step is near. [samples]"""
    reach, half, level = (max(2, round(time * rate)) for time in (SHARP_TIME, EDGE_HALF_TIME, LEVEL_TIME))
    return (reach, half, level, 1, 1) if rate < FINE_RATE else (reach, half, level, half, level)


def _threshold(means: NDArray[np.float32], count: int, bin_time: float) -> tuple[float, float]:
    """Smallest step worth a look, and the noise of one bin. [sample unit]"""
    if count < 8:
        return np.inf, 0.0
    stride = max(1, count // NOISE_SAMPLE)
    steps = np.abs(means[2:count:stride] - means[: count - 2 : stride])
    noise = float(np.median(steps)) / 0.6745
    segment = min(max(4, int(SEGMENT_TIME / bin_time)), count - 3)
    largest = np.empty(count // segment + 1, np.float32)
    segments = largest_steps(means, count, segment, largest)
    scale = float(np.median(largest[:segments])) if segments else 0.0
    return max(NOISE_FACTOR * noise, SCALE_FACTOR * scale, 1e-12), noise / np.sqrt(2.0)


def _strongest(means: NDArray[np.float32], places: NDArray[np.int64], most: int) -> NDArray[np.int64]:
    if len(places) <= most:
        return places
    steps = np.abs(means[places + 1] - means[places - 1])
    return np.sort(places[np.argpartition(steps, len(steps) - most)[-most:]])


def _refine(
    part: _Channel,
    block: Block,
    samples: NDArray[Any],
    places: NDArray[np.int64],
    signs: NDArray[np.int64],
) -> None:
    out = np.empty((3, len(places)))
    found = refine_steps(samples, places, signs, _layout(part.sample_rate), out)
    times, heights, sharpness = out[:, :found]
    keep = sharpness >= SHARPEST_SHARE
    if block.seam:
        keep &= times >= block.seam / 2
    if not block.last:
        keep &= times < len(samples) - block.seam / 2
    part.times.append(times[keep] + block.start)
    part.heights.append(heights[keep])
    if part.head_steps < 4 and found > part.head_steps:
        part.head, part.head_start, part.head_steps = samples.astype(np.float32), block.start, found


def _refuse_gaps(means: NDArray[np.float32], block: Block, samples: NDArray[Any], source: str) -> None:
    if float(np.abs(means).max(initial=0.0)) < LARGEST_SAMPLE and bool(
        (np.abs(samples[-2 * CELL :]) < LARGEST_SAMPLE).all()
    ):
        return
    bad = np.flatnonzero(~(np.abs(samples) < LARGEST_SAMPLE))
    if len(bad):
        raise InputFault(
            "a sample is too large for sound"
            if np.isfinite(samples[bad[0]])
            else "a sample is not a finite number",
            where=f"{source}, sample {block.start + bad[0] + 1}",
            wanted=f"samples below {LARGEST_SAMPLE:g}",
            got=str(samples[bad[0]]),
            remedy="Export the recording again as 16-bit WAV.",
        )


def _count_limits(part: _Channel, samples: NDArray[Any], block: Block, number: int) -> None:
    if not len(samples) or (number % CLIP_EVERY and block.start > 60 * part.sample_rate):
        return
    part.counted += len(samples)
    for edge in (float(samples.min()), float(samples.max())):
        part.lowest, part.highest = min(part.lowest, edge), max(part.highest, edge)
        if edge in (part.lowest, part.highest):
            part.at_limit[edge] = part.at_limit.get(edge, 0) + int(np.count_nonzero(samples == edge))


def _finished(part: _Channel, frames: int) -> Steps:
    times = np.concatenate(part.times) if part.times else np.zeros(0)
    heights = np.concatenate(part.heights) if part.heights else np.zeros(0)
    order = np.argsort(times, kind="stable")
    times, heights = times[order], heights[order]
    if len(times):
        near = (np.diff(times) < EDGE_HALF_TIME * part.sample_rate) & (np.diff(heights > 0) == 0)
        keep = np.concatenate([[True], ~near])
        times, heights = times[keep], heights[keep]
    repeated = sum(n for edge, n in part.at_limit.items() if edge in (part.lowest, part.highest) and n > 2)
    return Steps(
        times,
        heights,
        part.head,
        part.head_start,
        frames,
        part.lowest,
        part.highest,
        repeated / part.counted if part.counted else 0.0,
        float(np.median(part.noises)) if part.noises else 0.0,
    )


def compile_kernels() -> None:
    """Compile every kernel for both kinds of samples."""
    square = np.where(np.arange(8000) // 400 % 2, 1000, -1000)
    for kind in (np.int16, np.float32):
        block = Block(0, 0, np.ascontiguousarray(square.astype(kind)[None, :]), True)
        _scan_block(_Channel(16000.0), block, block.channels[0], 0, "")
