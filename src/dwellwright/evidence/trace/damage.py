"""What is wrong in the columns of a recording: blanks, impossible and stuck readings, gaps in time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from dwellwright.compiled import njit
from dwellwright.errors import InputFault
from dwellwright.evidence.trace.columns import Channel, ColumnUse
from dwellwright.evidence.trace.names import channel_limits
from dwellwright.evidence.trace.trace import Damage, Finding, Values, counted

STUCK_TIME = 10.0
STUCK_RUNS = 40.0
"""A channel is stuck when it repeats one value for so long and for so many times its usual run. [s], [-] (assumed)"""
GAP_TIME = 1.0
GAP_STEPS = 8.0
"""A gap is a step longer than both. [s], [-] (assumed)"""
LONG_PAUSE = 300.0
"""A gap that long may be the clock and not the logger. [s] (assumed)"""
UNEVEN_LONG, UNEVEN_SHORT = 2.0, 0.25
"""Steps are uneven when one in twenty is longer, or shorter, than so many usual ones. (assumed)"""
LOOKS, LOOK_ROWS = 20, 500
"""Steps are looked at in so many stretches of so many rows."""
_LIVELY = (Channel.ENGINE_SPEED, Channel.MANIFOLD_PRESSURE, Channel.SENSOR_VOLTAGE)
_NEVER_CONSTANT = (*_LIVELY, Channel.THROTTLE_VOLTAGE, Channel.COOLANT_TEMPERATURE)


@njit(cache=True, nogil=True)
def _scan(x, offset, low, high, counts, last):  # type: ignore[no-untyped-def] # numba infers
    """One piece of a column, from row `offset`; the counts go on from the piece before.

    Counts: 0 NaN, 1 infinite, 2 outside, 3 first of these two, 4 runs, 5 longest run, 6 its start, 7 finite,
    8 present run, 9 its start. `last`: 0 the reading before, 1 the reading of the longest run.
    """
    nans, runs, longest, run, start, before = 0, counts[4], counts[5], counts[8], counts[9], last[0]
    for i in range(x.size):
        v = x[i]
        if not (low <= v <= high):
            if v != v:
                nans += 1
                continue
            counts[1 if np.isinf(v) else 2] += 1
            if counts[3] < 0:
                counts[3] = offset + i
        same = v == before
        runs += not same
        run = run + 1 if same else 1
        start = start if same else offset + i
        if run > longest:
            longest, counts[6], last[1] = run, start, v
        before = v
    counts[0] += nans
    counts[7] += x.size - nans
    counts[4], counts[5], counts[8], counts[9], last[0] = runs, longest, run, start, before


@dataclass(frozen=True)
class ColumnScan:
    """What one pass over a column saw."""

    use: ColumnUse
    nulls: int
    nans: int
    infinite: int
    outside: int
    first_bad: int
    runs: int
    longest_run: int
    run_start: int
    finite: int
    run_value: float


def column_scan(use: ColumnUse, column: pl.Series) -> ColumnScan:
    """One pass over a column in SI."""
    nulls = column.null_count()
    counts, last = np.zeros(10, np.int64), np.full(2, np.nan)
    counts[3] = -1
    offset = 0
    for piece in column.get_chunks():
        values = piece.to_numpy()
        _scan(values, offset, *channel_limits(use.channel), counts, last)
        offset += values.size
    nans, infinite, outside, first, runs, longest, start, finite = (int(c) for c in counts[:8])
    value = float(last[1])
    return ColumnScan(use, nulls, nans - nulls, infinite, outside, first, runs, longest, start, finite, value)


def column_findings(scan: ColumnScan, *, rows: int, first_row: int, step: float) -> list[Finding]:
    """What a scan amounts to, in words."""
    name, channel = scan.use.column, scan.use.channel
    found = []

    def add(kind: Damage, count: int, index: int, text: str) -> None:
        found.append(Finding(kind, channel, count, first_row + index if index >= 0 else 0, text))

    if scan.nulls:
        share = f"{100 * scan.nulls / rows:.1f} %"
        add(
            Damage.BLANK,
            scan.nulls,
            -1,
            f"Column '{name}' has {counted(scan.nulls, 'blank cell')} ({share}).",
        )
    if scan.nans + scan.infinite:
        count = scan.nans + scan.infinite
        add(
            Damage.NOT_FINITE,
            count,
            -1,
            f"Column '{name}' says nan or inf in {counted(count, 'cell')}; left out.",
        )
    if scan.outside:
        row = first_row + scan.first_bad
        text = f"Column '{name}' has {counted(scan.outside, 'impossible reading')}, the first at row {row}; left out."
        add(Damage.OUT_OF_RANGE, scan.outside, scan.first_bad, text)
    if _is_stuck(scan, step):
        row = first_row + scan.run_start
        text = f"Column '{name}' repeats one value for {scan.longest_run * step:.0f} s from row {row}: stuck?"
        add(Damage.STUCK, scan.longest_run, scan.run_start, text)
    return found


def _is_stuck(scan: ColumnScan, step: float) -> bool:
    if scan.finite < 3:
        return False
    if scan.runs == 1:
        return scan.use.channel in _NEVER_CONSTANT and scan.finite * step > STUCK_TIME
    if scan.use.channel not in _LIVELY or scan.run_value == 0.0:
        return False
    usual = scan.finite / scan.runs
    return scan.longest_run * step > STUCK_TIME and scan.longest_run > STUCK_RUNS * usual


def refuse_mistaken_unit(scan: ColumnScan, *, first_row: int, source: str, cylinders: int) -> None:
    """Refuse a column most of whose readings are impossible in the unit it claims.

    Raises:
        InputFault: the unit, or the dwell scale, is mistaken.
    """
    where = f"{source}, row {first_row + max(scan.first_bad, 0)}, column '{scan.use.column}'"
    if scan.use.channel is Channel.DUTY and scan.outside > max(5, 0.01 * scan.finite):
        raise InputFault(
            "readings are beyond what the dwell scale or unit allows",
            where=where,
            wanted=f"0 to {360 / cylinders:g} deg on the {cylinders}-cylinder scale, or 0 to 100 %",
            got=f"{scan.outside} readings outside, unit {scan.use.unit}",
            remedy="Say which cylinder scale the meter was set to, or correct the unit.",
        )
    if scan.finite and scan.outside > 0.5 * scan.finite:
        low, high = channel_limits(scan.use.channel)
        raise InputFault(
            "most readings are impossible in the unit the column claims",
            where=where,
            wanted=f"{scan.use.channel} between {low:g} and {high:g} in SI",
            got=f"{scan.outside} of {scan.finite} outside, unit {scan.use.unit}",
            remedy="Correct the unit in the header or the column map.",
        )


@njit(cache=True)
def _gaps(time, least):  # type: ignore[no-untyped-def] # numba infers
    """Number of steps longer than `least`, the first of them, and the longest of all."""
    count, first, longest, widest = 0, 0, 0, -np.inf
    for i in range(time.size - 1):
        step = time[i + 1] - time[i]
        if step > least:
            if count == 0:
                first = i
            count += 1
        if step > widest:
            longest, widest = i, step
    return count, first, longest


def gap_finding(time: Values, *, first_row: int) -> Finding | None:
    """The gaps in a rising clock, or None."""
    thin = max(1, time.size // 50_000)
    usual = float(np.median(np.diff(time[::thin]))) / thin if time.size > thin else 0.0
    count, first, longest = (int(n) for n in _gaps(time, max(GAP_TIME, GAP_STEPS * usual)))
    if not count:
        return None
    width = time[longest + 1] - time[longest]
    text = f"The recording has {counted(count, 'gap')}, the longest {width:.1f} s at {time[longest]:.1f} s"
    text += ": a pause, or the clock was set ahead." if width > LONG_PAUSE else "."
    return Finding(Damage.GAP, None, count, first_row + first + 1, text)


def jitter_finding(time: Values, *, first_row: int) -> Finding | None:
    """How unevenly a rising clock runs, gaps left aside; None where it runs evenly enough."""
    at = np.unique(np.linspace(0, max(time.size - LOOK_ROWS, 0), LOOKS).astype(np.int64))
    steps = np.concatenate([np.diff(time[i : i + LOOK_ROWS]) for i in at])
    steps = steps[steps < GAP_TIME]
    if steps.size < LOOKS:
        return None
    short, usual, long = (float(q) for q in np.percentile(steps, (5.0, 50.0, 95.0)))
    if long <= UNEVEN_LONG * usual and short >= UNEVEN_SHORT * usual:
        return None
    count = int(np.count_nonzero((steps > UNEVEN_LONG * usual) | (steps < UNEVEN_SHORT * usual)))
    ends = f"one in twenty under {1e3 * short:.3g} and one over {1e3 * long:.3g} ms"
    text = f"The rows come unevenly: usually {1e3 * usual:.3g} ms apart, {ends}; short times are less sure."
    return Finding(Damage.JITTER, None, count, first_row, text)
