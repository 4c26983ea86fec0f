"""The limit cycle and the sensor's swings: crossings, period, amplitude, and times between lean and rich."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from dwellwright.compiled import njit
from dwellwright.evidence.trace.trace import Values

THRESHOLD = 0.45
"""Sensor voltage between lean and rich. [V] (common practice, no source)"""
HYSTERESIS = 0.05
"""A crossing counts once the sensor is this far beyond the threshold, or a tenth of its swing if that is less. [V]
(assumed)"""
FEWEST_SWINGS = 5
FEWEST_SAMPLES = 3.0
"""A period shorter than so many samples is not resolved."""
RAREST_STEP = 0.3
"""Samples further apart than this cannot tell a cycle from a faster one folded over: loops cycle down to about
0.6 s (check-values: delays from 0.2 s, periods of 2 to 4 delays). [s]"""
TRANSITION_LEVELS = (0.2, 0.8)
"""A transition is timed between these shares of the sensor's swing. (assumed)"""


@dataclass(frozen=True)
class Estimate:
    """A value with its standard uncertainty and how many events it rests on."""

    value: float
    uncertainty: float
    count: int


@njit(cache=True)
def _crossings(time, x, level, low, high, longest_gap, out, kinds):  # type: ignore[no-untyped-def] # numba infers
    """Schmitt trigger: 1 up, -1 down, 0 a break in the record."""
    state, count, last, previous_t, previous_x = 0, 0, 0.0, np.nan, np.nan
    for i in range(x.size):
        if not np.isfinite(x[i]):
            continue
        if previous_t == previous_t and time[i] - previous_t > longest_gap:
            out[count], kinds[count] = time[i], 0
            count += 1
            state, previous_t = 0, np.nan
        if previous_t == previous_t and (previous_x <= level) != (x[i] <= level):
            last = previous_t + (level - previous_x) / (x[i] - previous_x) * (time[i] - previous_t)
        if x[i] > high:
            if state == -1:
                out[count], kinds[count] = last, 1
                count += 1
            state = 1
        elif x[i] < low:
            if state == 1:
                out[count], kinds[count] = last, -1
                count += 1
            state = -1
        previous_t, previous_x = time[i], x[i]
    return count


@dataclass(frozen=True)
class Swings:
    """Crossings in order, with their direction: 1 up, -1 down, 0 where the record breaks."""

    instants: Values
    kinds: Values

    def intervals(self, kind: int) -> Values:
        """Times between successive crossings of one direction, none across a break. [s]"""
        keep = (self.kinds == kind) | (self.kinds == 0)
        instants, kinds = self.instants[keep], self.kinds[keep]
        both = (kinds[1:] == kind) & (kinds[:-1] == kind)
        times: Values = np.diff(instants)[both]
        return times

    def count(self) -> int:
        """Crossings of either direction."""
        return int(np.count_nonzero(self.kinds))


def swings_of(time: Values, values: Values, level: float, hysteresis: float) -> Swings:
    """Crossings of a level, each counted once the record is `hysteresis` beyond it."""
    steps = np.diff(time[:10_000])
    gap = max(1.0, 6.0 * float(np.median(steps))) if steps.size else 1.0
    out, kinds = np.zeros(2 * time.size + 2), np.zeros(2 * time.size + 2, np.int8)
    count = int(_crossings(time, values, level, level - hysteresis, level + hysteresis, gap, out, kinds))
    return Swings(out[:count], kinds[:count].astype(np.float64))


def typical_step(time: Values) -> float:
    """Median time between samples. [s]"""
    return float(np.median(np.diff(time))) if time.size > 1 else 0.0


def limit_cycle_period(time: Values, sensor: Values | None, duty: Values | None) -> Estimate | None:
    """Median time between like crossings: of the sensor, or of the duty about its own mean when the sensor is silent.

    Returns:
        None when there are too few swings, or samples too rare to see them. [s]
    """
    step = typical_step(time)
    if step > RAREST_STEP:
        return None
    for values, level, hysteresis in _candidates(time, sensor, duty):
        swings = swings_of(time, values, level, hysteresis)
        intervals = np.concatenate((swings.intervals(1), swings.intervals(-1)))
        if intervals.size >= FEWEST_SWINGS:
            period = float(np.median(intervals))
            if period < FEWEST_SAMPLES * step:
                return None
            return Estimate(period, _median_doubt(intervals, step), int(intervals.size))
    return None


def _candidates(
    time: Values, sensor: Values | None, duty: Values | None
) -> list[tuple[Values, float, float]]:
    found = []
    if sensor is not None and np.isfinite(sensor).any():
        low, high = (float(v) for v in np.nanpercentile(sensor, (5, 95)))
        level = THRESHOLD if low < THRESHOLD < high else (low + high) / 2
        if high - low > 0.1:
            found.append((sensor, level, min(HYSTERESIS, 0.1 * (high - low))))
    if duty is not None and np.isfinite(duty).any():
        swing = float(np.nanstd(duty))
        if swing > 0.005:
            found.append((without_wander(time, duty), 0.0, 0.3 * swing))
    return found


def without_wander(time: Values, values: Values, window: float = 6.0) -> Values:
    """A record less its own moving mean. The window is in seconds; blanks stay blank."""
    good = np.isfinite(values)
    out = np.full(values.size, np.nan)
    t, x = time[good], values[good]
    sums = np.concatenate(([0.0], np.cumsum(x - x.mean())))
    first, end = np.searchsorted(t, t - window / 2), np.searchsorted(t, t + window / 2, side="right")
    out[good] = x - x.mean() - (sums[end] - sums[first]) / (end - first)
    return out


def _median_doubt(values: Values, step: float) -> float:
    """Standard uncertainty of a median: 1.2533 standard errors for a normal spread, taken robustly. Crossings up
    and down share their cycles, hence half the count; sampling adds its own."""
    spread = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    return sqrt((1.2533 * spread) ** 2 / max(values.size / 2, 1.0) + (step / sqrt(12)) ** 2 / values.size)


def cycle_amplitude(time: Values, duty: Values, period: float) -> Estimate | None:
    """Half the peak-to-peak swing of duty within one period, median over the record."""
    good = np.isfinite(duty)
    t, x = time[good], duty[good]
    if t.size < 8 or period <= 0.0:
        return None
    edges = np.searchsorted(t, np.arange(t[0], t[-1] - period, period))
    edges = edges[np.concatenate(([True], np.diff(edges) >= 3))] if edges.size else edges
    if edges.size < FEWEST_SWINGS:
        return None
    halves = (np.maximum.reduceat(x, edges) - np.minimum.reduceat(x, edges))[:-1] / 2
    return Estimate(float(np.median(halves)), _median_doubt(halves, 0.0), int(halves.size))


@njit(cache=True)
def _transitions(time, x, low, high, longest_gap, up, down):  # type: ignore[no-untyped-def] # numba infers
    """Times to pass from one level to the other without turning back."""
    ups, downs, left_low, left_high = 0, 0, np.nan, np.nan
    t0, x0 = np.nan, np.nan
    for i in range(x.size):
        if not np.isfinite(x[i]):
            continue
        if not (time[i] - t0 <= longest_gap):
            left_low, left_high = np.nan, np.nan
        else:
            if x0 <= low < x[i]:
                left_low = t0 + (low - x0) / (x[i] - x0) * (time[i] - t0)
            if x0 >= high > x[i]:
                left_high = t0 + (high - x0) / (x[i] - x0) * (time[i] - t0)
            if x0 < high <= x[i] and left_low == left_low:
                up[ups] = t0 + (high - x0) / (x[i] - x0) * (time[i] - t0) - left_low
                ups += 1
                left_low = np.nan
            if x0 > low >= x[i] and left_high == left_high:
                down[downs] = t0 + (low - x0) / (x[i] - x0) * (time[i] - t0) - left_high
                downs += 1
                left_high = np.nan
        t0, x0 = time[i], x[i]
    return ups, downs


def transition_times(
    time: Values, sensor: Values, low: float, high: float
) -> tuple[Estimate | None, Estimate | None]:
    """Median time from lean to rich and from rich to lean. [s]

    Interpolated between samples: a transition shorter than one sample comes out near one sample, and its
    uncertainty says so.

    Args:
        time: [s]
        sensor: [V]
        low, high: settled lean and rich voltage; the levels timed lie within. [V]
    """
    swing = high - low
    step = typical_step(time)
    if swing < 0.15 or step > RAREST_STEP:
        return None, None
    a, b = (low + share * swing for share in TRANSITION_LEVELS)
    up, down = np.zeros(time.size), np.zeros(time.size)
    ups, downs = _transitions(time, sensor, a, b, max(1.0, 6.0 * step), up, down)
    return _transition(up[:ups], step), _transition(down[:downs], step)


def _transition(times: Values, step: float) -> Estimate | None:
    if times.size < FEWEST_SWINGS:
        return None
    value = float(np.median(times))
    blur = step / sqrt(6) if value < 3.0 * step else 0.0
    return Estimate(value, sqrt(_median_doubt(times, step) ** 2 + blur**2), int(times.size))
