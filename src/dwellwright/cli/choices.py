"""Words a person may choose from, and what they stand for inside."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from dwellwright.evidence.observation import Regime
    from dwellwright.evidence.waveform.types import Polarity as WavePolarity
    from dwellwright.records.stages import Phase, Side


class Place(StrEnum):
    """Where in the operating range."""

    IDLE = "idle"
    FAST = "3000"
    CRUISE = "cruise"
    BENCH = "bench"
    KEY_ON = "key-on"
    CRANKING = "cranking"
    WARM_UP = "warm-up"
    OPEN_LOOP = "open-loop"
    PULL = "pull"
    OVERRUN = "overrun"

    @property
    def regime(self) -> Regime:
        """The same as the evidence knows it."""
        from dwellwright.evidence.observation import Regime

        return Regime(self.value)


Rows = Annotated[
    float | None,
    typer.Option(
        "--sample-rate", metavar="HZ", min=1e-3, help="Rows in a second of volts without a time column."
    ),
]


class Polarity(StrEnum):
    """Which way up a sound recording is."""

    AUTO = "auto"
    NORMAL = "normal"
    REVERSED = "reversed"

    @property
    def polarity(self) -> WavePolarity | None:
        """The same as the evidence knows it."""
        from dwellwright.evidence.waveform.types import Polarity as WavePolarity

        return None if self is Polarity.AUTO else WavePolarity(self.value)


def side_of(as_left: bool) -> Side:
    """Before or after the work."""
    from dwellwright.records.stages import Side

    return Side.AS_LEFT if as_left else Side.AS_FOUND


def phase_of(on_car: bool) -> Phase:
    """On the bench or on the car."""
    from dwellwright.records.stages import Phase

    return Phase.CAR if on_car else Phase.BENCH
