"""A sound of the solenoid's wire to look at closely: its mean pulse, and dwell over any stretch of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dwellwright.errors import InputFault
from dwellwright.records.evidence import EvidenceRecord
from dwellwright.records.shop import Shop, file_place
from dwellwright.service.jobs import JobView
from dwellwright.units import dwell_degrees

if TYPE_CHECKING:
    from dwellwright.evidence.waveform_types import Floats, Waveform

MOST_OPEN = 8


@dataclass(frozen=True)
class SoundStretch:
    """Dwell over a stretch, and the mean pulse of the whole.

    Args:
        begin, end: of the stretch. [s]
        first, last: of the whole. [s]
        time: middles of the sliding window. [s]
        dwell: mean within it. [deg, six-cylinder scale]
        pulse_time: from energizing. [s]
        pulse_level: [recorded unit]
        samples: points of the stretch.
    """

    begin: float
    end: float
    first: float
    last: float
    time: Floats
    dwell: Floats
    pulse_time: Floats
    pulse_level: Floats
    samples: int


def sound_record(view: JobView, identity: int) -> EvidenceRecord:
    """The sound of that identity in a job.

    Raises:
        InputFault: the job has none.
    """
    for one in view.evidence:
        if one.id == identity and one.kind == "waveform":
            return one
    raise InputFault("no such file", where=f"job {view.job.number}", got=f"sound {identity}")


def sound_stretch(shop: Shop, record: EvidenceRecord, begin: float | None, end: float | None) -> SoundStretch:
    """A stretch of a sound; all of it where no ends are given, or where they hold nothing.

    Raises:
        InputFault: the sound can no longer be read.
    """
    read = _read(file_place(shop, record.file.sha256), str(record.summary["facts"]["polarity"]))
    time, dwell = read.sliding_time, dwell_degrees(1.0) * read.sliding_duty
    first, last = (float(time[0]), float(time[-1])) if time.size else (0.0, read.duration)
    left = min(max(first if begin is None else begin, first), last)
    right = max(min(last if end is None else end, last), left)
    inside = (time >= left) & (time <= right)
    if np.count_nonzero(inside) < 2:
        left, right, inside = first, last, np.ones(time.size, np.bool_)
    return SoundStretch(left, right, first, last, time[inside], dwell[inside], read.shape.x, read.shape.y,
                        int(np.count_nonzero(inside)))  # fmt: skip


@lru_cache(maxsize=MOST_OPEN)
def _read(place: Path, polarity: str) -> Waveform:
    """The sound as it was read when it was added: with the polarity that was decided, or said, then."""
    from dwellwright.evidence.waveform import read_waveform
    from dwellwright.evidence.waveform_types import Polarity

    known = Polarity(polarity) if polarity in (Polarity.NORMAL, Polarity.REVERSED) else Polarity.AUTO
    return read_waveform(place, polarity=known)
