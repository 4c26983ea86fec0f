"""A stretch of a recording, whatever it is of: its ends within the whole, and which rows lie in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.records.evidence import EvidenceRecord
from dwellwright.service.file_kind import FileKind
from dwellwright.service.jobs import JobView

SHORTEST = 1e-3
"""Ends closer than this are none: everything is shown. [s]"""

_NAMES = {FileKind.TRACE: "recording", FileKind.WAVEFORM: "sound"}


@dataclass(frozen=True)
class Stretch:
    """Where a stretch lies.

    Args:
        begin, end: of the stretch. [s]
        first, last: of the whole. [s]
        samples: rows or points within it.
    """

    begin: float
    end: float
    first: float
    last: float
    samples: int


def stretch_within(
    time: NDArray[np.float64], begin: float | None, end: float | None
) -> tuple[Stretch, slice]:
    """A stretch of rising times and the rows in it, at least two; everything where the ends hold nothing.

    Args:
        time: of every row, at least two. [s]
        begin: of the stretch; the first row where None. [s]
        end: of the stretch; the last row where None. [s]
    """
    first, last = float(time[0]), float(time[-1])
    left = min(max(first if begin is None else begin, first), last)
    right = max(min(last if end is None else end, last), left)
    if right - left < SHORTEST:
        left, right = first, last
    start, stop = int(np.searchsorted(time, left)), int(np.searchsorted(time, right, side="right"))
    if stop - start < 2:
        start = min(max(start - 1, 0), time.size - 2)
        stop = start + 2
        left, right = min(left, float(time[start])), max(right, float(time[start + 1]))
    return Stretch(left, right, first, last, stop - start), slice(start, stop)


def recording_of(view: JobView, identity: int, kind: FileKind) -> EvidenceRecord:
    """The recording of that identity and kind in a job.

    Raises:
        InputFault: the job has none.
    """
    for one in view.evidence:
        if one.id == identity and one.kind == kind:
            return one
    raise InputFault("no such file", where=f"job {view.job.number}", got=f"{_NAMES[kind]} {identity}")
