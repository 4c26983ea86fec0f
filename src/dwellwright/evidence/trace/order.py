"""A clock that rises: repeated, backward and jumping times taken out, and said."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.compiled import njit
from dwellwright.errors import InputFault
from dwellwright.evidence.trace.trace import Damage, Finding, Values, counted

SMALL_STEP_BACK = 1.0
"""A step back by less is a reading out of its place and is dropped; by more, the clock was set. [s] (assumed)"""
DAY = 86400.0
BACKWARD_SHARE = 0.1
"""With more backward steps than this the recording is not in order at all. (assumed)"""
FARTHEST = 1e9
"""A time farther from zero is no time of a recording; thirty years. [s]"""
SMALLEST_STEP = 1e-6
"""Rows nearer than this to the row before repeat its time: no logger of a drive is as fast as 1 MHz. [s]"""
LONGEST_RECORDING = 31 * DAY
"""A recording that spans more has a leap in its clock that nothing explains. [s] (assumed)"""


@dataclass(frozen=True)
class Ordered:
    """Rising seconds, the rows they belong to, and what was wrong. `kept` is None when every row is."""

    seconds: Values
    kept: NDArray[np.bool_] | None
    findings: tuple[Finding, ...]


@njit(cache=True)
def _walk(raw, kept, out, counts, rows):  # type: ignore[no-untyped-def] # numba infers
    """Kinds counted: 0 blank, 1 duplicate, 2 backward, 3 jump back, 4 midnight, 5 lone spike."""
    shift, previous, step, started = 0.0, 0.0, 1e3 * SMALLEST_STEP, False
    for i in range(raw.size):
        kind = -1
        t = raw[i] + shift
        if not abs(raw[i]) <= FARTHEST:
            kind = 0
        elif started:
            dt = t - previous
            if 0.0 <= dt < SMALLEST_STEP:
                kind = 1
            elif dt < 0.0 and dt > -SMALL_STEP_BACK:
                kind = 2
            elif dt < 0.0:
                kind = 4 if abs(dt + DAY) < 3600.0 else 3
                shift += DAY if kind == 4 else previous + step - t
                t = raw[i] + shift
            elif dt > 60.0 and i + 1 < raw.size and raw[i + 1] + shift >= previous and raw[i + 1] < raw[i]:
                kind = 5
        if kind >= 0:
            counts[kind] += 1
            if rows[kind] < 0:
                rows[kind] = i
        kept[i] = kind in (-1, 3, 4)
        if kept[i]:
            if started:
                step = t - previous
            previous = t
            started = True
        out[i] = t


@njit(cache=True)
def _rises(raw):  # type: ignore[no-untyped-def] # numba infers
    for i in range(raw.size - 1):
        if not raw[i + 1] - raw[i] >= SMALLEST_STEP:
            return False
    return abs(raw[0]) <= FARTHEST and abs(raw[-1]) <= FARTHEST


_KINDS = (
    (Damage.BLANK, "Left out {rows} without a readable time; the first is row {row}."),
    (Damage.DUPLICATE_TIME, "Left out {rows} with the same time as the row before; the first is row {row}."),
    (
        Damage.BACKWARD_TIME,
        "Left out {rows} with a time before that of the row above; the first is row {row}.",
    ),
    (
        Damage.CLOCK_JUMP,
        "The clock was set back at {rows}, first at row {row}; what follows is moved behind.",
    ),
    (Damage.CLOCK_JUMP, "The clock passed midnight at {rows}, first at row {row}."),
    (Damage.CLOCK_JUMP, "Left out {rows} with a time far from its neighbors; the first is row {row}."),
)


def ordered_time(raw: Values, *, first_row: int, source: str) -> Ordered:
    """Seconds made to rise strictly.

    Args:
        raw: seconds as read, NaN where unreadable. [s], shape (rows,)
        first_row: file row of the first.
        source: file name, for the message.

    Raises:
        InputFault: no readable time, or it runs backward.
    """
    if raw.size > 1 and bool(_rises(raw)):
        _refuse_endless(raw, first_row, source)
        return Ordered(raw, None, ())
    kept, out = np.zeros(raw.size, np.bool_), np.zeros(raw.size)
    counts, rows = np.zeros(len(_KINDS), np.int64), np.full(len(_KINDS), -1, np.int64)
    _walk(raw, kept, out, counts, rows)
    backward = int(counts[2] + counts[3])
    if raw.size > 3 and backward > max(2, BACKWARD_SHARE * raw.size):
        row = first_row + int(max(0, min(r for r in (rows[2], rows[3]) if r >= 0)))
        raise InputFault(
            "the time runs backward",
            where=f"{source}, row {row}, time column",
            wanted="times that rise",
            got=f"{backward} steps back in {raw.size} rows",
            remedy="Sort the rows by time, or check which column is the time.",
        )
    if int(kept.sum()) < 2:
        raise InputFault(
            "there are not two rows with a time",
            where=f"{source}, row {first_row}, time column",
            wanted="at least two rows with rising time",
            got=f"{int(kept.sum())}",
        )
    _refuse_endless(out[kept], first_row, source)
    findings = []
    for (kind, text), n, index in zip(_KINDS, counts.tolist(), rows.tolist(), strict=True):
        if n:
            row = first_row + index
            findings.append(Finding(kind, None, n, row, text.format(rows=counted(n, "row"), row=row)))
    return Ordered(out[kept], kept, tuple(findings))


def _refuse_endless(seconds: Values, first_row: int, source: str) -> None:
    """Say where the time leaps in a recording that no drive makes so long."""
    if seconds[-1] - seconds[0] <= LONGEST_RECORDING:
        return
    steps = np.diff(seconds)
    leap = int(np.argmax(steps))
    raise InputFault(
        "the recording is longer than any drive",
        where=f"{source}, about row {first_row + leap + 1}, time column",
        wanted=f"at most {LONGEST_RECORDING / DAY:.0f} days",
        got=f"{(seconds[-1] - seconds[0]) / DAY:.4g} days, with a leap of {steps[leap] / DAY:.4g} days",
        remedy="Take out the rows whose time is wrong, or check the unit of the time.",
    )
