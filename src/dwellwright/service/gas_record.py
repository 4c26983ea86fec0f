"""Gas recorded in time, ready to be drawn: lambda of each reading, and the stretches whose means count."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from dwellwright.errors import InputFault
from dwellwright.evidence.gas.air_ratio import GasOptions, air_ratio
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.evidence.gas.stretches import FEWEST_TO_SETTLE, GASES, Stretch, told_place

if TYPE_CHECKING:
    from dwellwright.reports.plots.gas_record import GasRecord

MOST_DRAWN = 3000
"""Readings drawn of a record; of a longer one every second, third and so on."""


def gas_record(
    readings: Sequence[GasReading], stretches: Sequence[Stretch], options: GasOptions
) -> GasRecord | None:
    """A record in time; None where readings have no times that rise, or where none follow each other for long.

    Args:
        readings: in the order of their rows.
        stretches: the same by place.
        options: fuel, analyzer and how hydrocarbons count.
    """
    from dwellwright.reports.plots.gas_record import GasRecord
    from dwellwright.reports.plots.recordings import Span

    settled = [one for one in stretches if len(one.readings) >= FEWEST_TO_SETTLE and one.span]
    every = readings[:: 1 + len(readings) // MOST_DRAWN]
    time = np.array([nan if one.time is None else one.time for one in every])
    if not settled or not np.all(np.diff(time) > 0):
        return None
    spans = tuple(Span(*one.span, _title(one, options)) for one in settled if one.span)
    gases = {gas: np.array([getattr(one, gas) for one in every]) for gas in GASES}
    return GasRecord(time, np.array([_lambda(one, options) for one in every]), **gases, spans=spans)


def _lambda(reading: GasReading, options: GasOptions) -> float:
    """Lambda, NaN where the gas is no exhaust, or so thin that it does not count."""
    try:
        found = air_ratio(reading, options)
    except InputFault:
        return nan
    return nan if found.diluted else float(found.lambda_.value)


def _title(stretch: Stretch, options: GasOptions) -> str:
    """Where it was read, and the lambda of its mean."""
    value = _lambda(stretch.mean, options)
    place = told_place(stretch.mean)
    return place if np.isnan(value) else f"{place}, lambda {value:.3f}"
