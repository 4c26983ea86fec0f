"""A sound of the solenoid's wire to look at closely: its mean pulse, and dwell over any stretch of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.records.evidence import EvidenceRecord
from dwellwright.records.shop import Shop, file_place
from dwellwright.service.stretches import Stretch, stretch_within
from dwellwright.units import dwell_degrees

if TYPE_CHECKING:
    from dwellwright.evidence.waveform.types import Floats, Waveform

MOST_OPEN = 8


@dataclass(frozen=True)
class SoundStretch(Stretch):
    """Dwell over a stretch, and the mean pulse of the whole.

    Args:
        time: middles of the sliding window. [s]
        dwell: mean within it. [deg, six-cylinder scale]
        pulse_time: from energizing. [s]
        pulse_level: as `pulse_label` says.
        pulse_label: what is drawn, and in which unit.
        decided: whether the polarity is; the mean pulse is drawn from its falling edge while it is not.
    """

    time: Floats
    dwell: Floats
    pulse_time: Floats
    pulse_level: Floats
    pulse_label: str
    decided: bool


def sound_stretch(shop: Shop, record: EvidenceRecord, begin: float | None, end: float | None) -> SoundStretch:
    """A stretch of a sound; all of it where no ends are given, or where they hold nothing.

    Raises:
        InputFault: the sound can no longer be read.
    """
    facts = record.summary["facts"]
    read = _read(file_place(shop, record.file.sha256), str(facts["polarity"]), facts.get("rate_told_hz"))
    time, dwell = read.sliding_time, dwell_degrees(1.0) * read.sliding_duty
    found, inside = Stretch(0.0, read.duration, 0.0, read.duration, 0), slice(0, 0)
    if time.size > 1:
        found, inside = stretch_within(time, begin, end)
    pulse = read.shape
    return SoundStretch(**vars(found), time=time[inside], dwell=dwell[inside], pulse_time=pulse.x, pulse_level=pulse.y,
                        pulse_label=pulse.label, decided=read.duty is not None)  # fmt: skip


@lru_cache(maxsize=MOST_OPEN)
def _read(place: Path, polarity: str, sample_rate: float | None) -> Waveform:
    """The sound as it was read when it was added: with the polarity that was decided, or said, then."""
    from dwellwright.evidence.waveform import read_waveform
    from dwellwright.evidence.waveform.types import Polarity

    known = Polarity(polarity) if polarity in (Polarity.NORMAL, Polarity.REVERSED) else Polarity.AUTO
    return read_waveform(place, polarity=known, sample_rate=sample_rate)
