"""A drive recording in SI, with what is damaged in it."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

import numpy as np
import polars as pl
from numpy.typing import NDArray

from dwellwright.evidence.trace.columns import Channel, ColumnMap

Values = NDArray[np.float64]
WORKERS = min(4, os.cpu_count() or 1)
"""Threads for work on several columns at once; the kernels release the interpreter."""


class Polarity(StrEnum):
    """What a high duty reading means on this unit and meter."""

    ENERGIZED_LEAN = "energized is lean"
    ENERGIZED_RICH = "energized is rich"
    METER_REVERSED_LEAN = "meter reads the released share; energized is lean"
    METER_REVERSED_RICH = "meter reads the released share; energized is rich"

    @property
    def meter_reversed(self) -> bool:
        """Whether the recorded share is that of the released time."""
        return self in (Polarity.METER_REVERSED_LEAN, Polarity.METER_REVERSED_RICH)

    @property
    def energized_is_lean(self) -> bool:
        """Whether more energized time makes the mixture leaner."""
        return self in (Polarity.ENERGIZED_LEAN, Polarity.METER_REVERSED_LEAN)


class Damage(StrEnum):
    """Kinds of fault in a recording that can still be read."""

    GAP = "gap"
    JITTER = "jitter"
    DUPLICATE_TIME = "duplicate time"
    BACKWARD_TIME = "backward time"
    CLOCK_JUMP = "clock jump"
    BLANK = "blank"
    BAD_CELL = "bad cell"
    NOT_FINITE = "not finite"
    STUCK = "stuck"
    ENCODING = "encoding"
    CUT_SHORT = "cut short"
    OUT_OF_RANGE = "out of range"
    ASSUMED = "assumed"
    UNUSED_COLUMN = "unused column"


def counted(number: int, noun: str) -> str:
    """A number with its noun.

    >>> counted(1, "row"), counted(3, "row")
    ('1 row', '3 rows')
    """
    return f"{number} {noun}" + ("" if number == 1 else "s")


@dataclass(frozen=True)
class Finding:
    """One kind of damage in one place.

    Args:
        kind: what it is.
        channel: where, by channel; None for the file or the clock.
        count: how often.
        row: file row of the first one (the header's row is counted), 0 when it has none.
        sentence: the same in plain words.
    """

    kind: Damage
    channel: Channel | None
    count: int
    row: int
    sentence: str


@dataclass(frozen=True)
class Trace:
    """A recording in SI.

    Args:
        frame: one Float64 column for each channel present, named as the channel; time rises strictly. Blanks
            are null. Units: s, rev/s, Pa, V, K, m/s, and fractions.
        columns: the map it was read through.
        damage: what was found wrong, worst first.
        source: file name.
        polarity: what duty means.
        started: clock time of time zero, where the file says.
    """

    frame: pl.DataFrame
    columns: ColumnMap
    damage: tuple[Finding, ...]
    source: str
    polarity: Polarity = Polarity.ENERGIZED_LEAN
    started: datetime | None = None
    _arrays: dict[Channel, Values] = field(default_factory=dict, init=False, repr=False, compare=False)

    def has(self, channel: Channel) -> bool:
        """Whether the recording has that channel."""
        return channel in self.frame.columns

    def values(self, channel: Channel) -> Values:
        """One channel, NaN where blank; all NaN when there is no such channel. Shape (rows,)."""
        if not self.has(channel):
            return np.full(self.frame.height, np.nan)
        if channel not in self._arrays:
            self._arrays[channel] = np.ascontiguousarray(self.frame[channel].to_numpy(), dtype=np.float64)
        return self._arrays[channel]

    @property
    def time(self) -> Values:
        """Time. [s], shape (rows,)"""
        return self.values(Channel.TIME)
