"""Compiled inner loops of the waveform reader: steps in a block of samples, and where exactly they are.

Few kernels with fixed types (16-bit or float32 samples), compiled once and kept on disk.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from dwellwright.compiled import njit

CELL = 8
"""Samples summed in one unrolled step. [samples]"""

Samples = NDArray[np.int16] | NDArray[np.float32]
Singles = NDArray[np.float32]


FAST = {"reassoc", "contract", "nsz", "arcp"}


@njit(cache=True, nogil=True, fastmath=FAST)
def float_bin_means(samples: Any, cells: int, means: Any) -> int:
    """Means of consecutive bins of `cells * 8` float32 samples; returns the number of bins."""
    width = cells * CELL
    count: int = samples.shape[0] // width
    scale = np.float32(1.0 / width)
    for i in range(count):
        total = np.float32(0.0)
        for j in range(cells):
            first = i * width + j * CELL
            cell = np.float32(0.0)
            for k in range(8):
                cell += samples[first + k]
            total += cell
        means[i] = total * scale
    return count


@njit(cache=True, nogil=True)
def short_bin_means(samples: Any, cells: int, means: Any) -> int:
    """Means of consecutive bins of `cells * 8` 16-bit samples; returns the number of bins."""
    width = cells * CELL
    count: int = samples.shape[0] // width
    scale = np.float32(1.0 / width)
    for i in range(count):
        total = np.int32(0)
        for j in range(cells):
            first = i * width + j * CELL
            cell = np.int32(0)
            for k in range(8):
                cell += np.int32(samples[first + k])
            total += cell
        means[i] = np.float32(total) * scale
    return count


@njit(cache=True, nogil=True, fastmath={"nnan", "nsz", "reassoc"})
def largest_steps(means: Any, count: int, segment: int, largest: Any) -> int:
    """Largest step across one bin in each segment of `segment` bins; returns the number of segments."""
    found = 0
    for first in range(1, count - segment, segment):
        most = np.float32(0.0)
        for i in range(first, first + segment):
            step = np.float32(abs(means[i + 1] - means[i - 1]))
            most = step if step > most else most
        largest[found] = most
        found += 1
    return found


@njit(cache=True, nogil=True)
def step_places(means: Any, count: int, threshold: float, places: Any) -> int:
    """Bins at which the step across them is a local extreme beyond `threshold`; returns how many.

    Along a slope that stays beyond it, such as the end of a spike, every second bin is given too: an edge may
    hide in it.
    """
    found = 0
    place = -2
    limit = np.float32(threshold)
    before = np.float32(0.0)
    here = means[2] - means[0] if count > 2 else np.float32(0.0)
    for i in range(1, count - 2):
        after = means[i + 2] - means[i]
        if here >= limit:
            extreme = here >= before and here > after
        elif here <= -limit:
            extreme = here <= before and here < after
        else:
            extreme = False
        same = before >= limit if here >= limit else here <= -limit and before <= -limit
        if (extreme or (same and i - place >= 2)) and found < places.shape[0]:
            place = i
            places[found] = i
            found += 1
        before = here
        here = after
    return found


@njit(cache=True, nogil=True)
def sharpest_place(samples: Any, first: int, last: int, reach: int, sign: int) -> int:
    """The sample around which the means of `reach` samples on each side differ most in direction `sign`."""
    total = 0.0
    for k in range(1, reach + 1):
        total += samples[first + k] - samples[first - k]
    best, place = total * sign, first
    for k in range(first + 1, last + 1):
        total += samples[k + reach] - samples[k] * 1.0 - samples[k - 1] + samples[k - 1 - reach]
        if total * sign > best:
            best, place = total * sign, k
    return place


@njit(cache=True, nogil=True)
def sharpest_places(
    samples: Any, middle: Any, sign: Any, search: int, reach: int, peaks: bool, out: Any
) -> None:
    """The sample near each of some places at which a step is sharpest.

    Args:
        samples: shape (n,).
        middle: where to look, at least `search + reach + 2` from both ends, shape (m,).
        sign: 1 for a rise, -1 for a fall, shape (m,).
        search: how far to look to both sides. [samples]
        reach: as in `sharpest_place`.
        peaks: leave out (-1) what is sharper still just beyond where was looked.
        out: the samples, shape (m,).
    """
    for i in range(middle.shape[0]):
        place = sharpest_place(samples, middle[i] - search, middle[i] + search, reach, sign[i])
        out[i] = place
        if peaks and abs(place - middle[i]) == search:
            beyond = place + (1 if place > middle[i] else -1)
            if sharpest_place(samples, min(place, beyond), max(place, beyond), reach, sign[i]) == beyond:
                out[i] = -1


@njit(cache=True, nogil=True)
def refine_steps(samples: Any, places: Any, sign: Any, layout: Any, out: Any) -> int:
    """Exact time (in samples) and height of each step; returns how many could be measured.

    The time is where an ideal step between the two levels would have the same area, so it is
    independent of the recorder's low-pass as long as both edges meet the same one. Beside another step the levels
    are taken nearer to the edge, for what lies farther belongs to the other.

    Args:
        samples: shape (n,).
        places: where the steps are sharpest, in order, shape (m,). [samples]
        sign: 1 for a rise, -1 for a fall, shape (m,).
        layout: sharpness reach; half an edge and width of a level, usual and where another step is near. [samples]
        out: for each step, shape (3, m): position [samples], level after minus level before [sample unit],
            and the share of that height passed within the sharpest stretch, near 1 for a real edge. [-]
    """
    reach, usual_half, usual_level, near_half, near_level = layout
    count = places.shape[0]
    found = 0
    for i in range(count):
        place = places[i]
        half, level = usual_half, usual_level
        for j in (i - 1, i + 1):
            if 0 <= j < count and 0 < abs(places[j] - place) <= usual_half + usual_level + 1:
                half, level = near_half, near_level
        low = 0.0
        high = 0.0
        for k in range(level):
            low += samples[place - half - 1 - k]
            high += samples[place + half + 1 + k]
        low /= level
        high /= level
        height = high - low
        if height * sign[i] <= 0.0:
            continue
        area = 0.0
        for k in range(place - half, place + half + 1):
            area += min(1.0, max(0.0, (samples[k] - low) / height))
        sharp = 0.0
        for k in range(1, reach + 1):
            sharp += samples[place + k] - samples[place - k]
        out[0, found] = place + half + 0.5 - area
        out[1, found] = height
        out[2, found] = sharp / reach / height
        found += 1
    return found


@njit(cache=True, nogil=True)
def cheapest_path(time: Any, cost: Any, first: Any, release: Any, habit: Any, chosen: Any) -> float:
    """Fills `chosen` with the index of the fall that each release takes, -1 for none; returns the path's cost.

    Args:
        time: moments of the falls in time order, shape (n,). [s]
        cost: of each fall by itself, shape (n,).
        first: falls `first[i]` to `first[i + 1]` lie before release i and after the one before, shape (m + 1,).
        release: moments, shape (m,). [s]
        habit: usual period [s]; 1 where energizing keeps an even beat, 0 where the width changes gradually; spread
            of what changes from pulse to pulse [s]; cost of a release without a fall, and of the first without one;
            most that a change may cost beside a gap shorter than `short` periods, which holds a pulse too many;
            `short`.
        chosen: shape (m,).
    """
    period, by_beat, spread, missing, cut, most, short = habit
    count = release.shape[0]
    usual = np.log(spread)
    best = np.empty(time.shape[0])
    came = np.empty(time.shape[0], np.int64)
    nothing = np.zeros(count)
    nothing_came = np.full(count, -1, np.int64)
    for i in range(count):
        before = nothing[i - 1] if i else 0.0
        extra = False
        for g in range(max(1, i - 1), i + 1):
            extra = extra or release[g] - release[g - 1] < short * period
        least, least_from = before, -1
        if i:
            for j in range(first[i - 1], first[i]):
                if best[j] < least:
                    least, least_from = best[j], j
        nothing[i], nothing_came[i] = least + (missing if i else cut) + usual, least_from
        for k in range(first[i], first[i + 1]):
            best[k], came[k] = before + usual, -1
            if i:
                for j in range(first[i - 1], first[i]):
                    if by_beat > 0.0:
                        step = time[k] - time[j]
                        off = step - period * max(1.0, np.rint(step / period))
                    else:
                        off = (release[i] - time[k]) - (release[i - 1] - time[j])
                    change = 2.0 * np.log1p((off / spread) ** 2)
                    here = best[j] + (min(change, most) if extra else change) + usual
                    if here < best[k]:
                        best[k], came[k] = here, j
            best[k] += cost[k]
    total, at = nothing[count - 1], -1
    for k in range(first[count - 1], first[count]):
        if best[k] < total:
            total, at = best[k], k
    for i in range(count - 1, -1, -1):
        chosen[i] = at
        at = nothing_came[i] if at < 0 else came[at]
    return float(total)
