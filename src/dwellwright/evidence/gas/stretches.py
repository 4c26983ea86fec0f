"""Readings that follow each other in one place, as one: an analyzer's error does not shrink by reading it again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import inf, sqrt
from statistics import fmean, median, stdev

from dwellwright.errors import InputFault
from dwellwright.evidence.gas.air_ratio import GasOptions, gas_uncertainty
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.evidence.observation import Regime

FEWEST_TO_SETTLE = 8
"""A stretch of fewer readings is taken whole, and where it is looked at closely each of its readings is shown."""
SETTLED_WITHIN = 2.0
"""At its ends a stretch has settled once CO2 and O2 lie this many standard uncertainties of one reading, and as many
spreads, from the median (assumed)."""
MOVED = 4.0
"""Beyond so many standard uncertainties between thirds of a stretch its gas is said to move (assumed)."""
_SPEED = re.compile(r"(\d+(?:\.\d*)?)\s*(?:rpm|r/min)?\s*$", re.ASCII | re.IGNORECASE)
GASES = ("co", "co2", "o2", "hc")


@dataclass(frozen=True)
class Stretch:
    """Readings of one place that follow each other, and their mean.

    Args:
        mean: of the settled readings; the reading itself where there is only one.
        readings: those that were averaged.
        spread: standard uncertainty of each mean from the scatter of its readings, by gas; the scatter itself where the
            gas moved, since nobody knows which of its levels is meant. [-]
        left_out: readings at the ends, where the analyzer had not settled.
        moved: the gas that moved most within the stretch, empty where all hold still.
    """

    mean: GasReading
    readings: tuple[GasReading, ...]
    spread: dict[str, float]
    left_out: int = 0
    moved: str = ""

    @property
    def span(self) -> tuple[float, float] | None:
        """From when to when, where the readings have times. [s]"""
        times = [one.time for one in self.readings if one.time is not None]
        return (min(times), max(times)) if len(times) > 1 else None


def alone(reading: GasReading, left_out: int = 0) -> Stretch:
    """One reading by itself."""
    return Stretch(reading, (reading,), dict.fromkeys(GASES, 0.0), left_out)


def gas_stretches(readings: Sequence[GasReading], options: GasOptions) -> list[Stretch]:
    """Readings of one place that follow each other, averaged; one alone stays as it is."""
    return [_stretch(list(group), options) for _, group in groupby(readings, key=_place)]


def _place(reading: GasReading) -> tuple[Regime, str]:
    """Speeds differ a little from row to row; words do not."""
    return reading.regime, "" if _SPEED.match(reading.condition) else reading.condition.lower()


def _stretch(group: list[GasReading], options: GasOptions) -> Stretch:
    kept = _settled(group, options) if len(group) >= FEWEST_TO_SETTLE and group[0].time is not None else group
    if len(kept) == 1:
        return alone(kept[0], len(group) - 1)
    means = {gas: fmean(getattr(one, gas) for one in kept) for gas in GASES}
    moved = _moved(kept, options)
    count = 1 if moved else len(kept)
    spread = {gas: stdev(getattr(one, gas) for one in kept) / sqrt(count) for gas in GASES}
    oxides = [one.nox for one in kept if one.nox is not None]
    first, last = kept[0], kept[-1]
    rows = f"{first.source} to {last.source.rsplit(' ', 1)[-1]}".replace(", row ", ", rows ", 1)
    times = [one.time for one in kept if one.time is not None]
    mean = GasReading(
        _condition(kept), first.regime, means["co"], means["co2"], means["o2"], means["hc"],
        fmean(oxides) if oxides else None, fmean(times) if times else None, rows, first.assumed,
    )  # fmt: skip
    return Stretch(mean, tuple(kept), spread, len(group) - len(kept), moved)


def _condition(readings: Sequence[GasReading]) -> str:
    """As typed; the median where it is a speed that varies."""
    texts = {one.condition for one in readings}
    if len(texts) == 1:
        return texts.pop()
    speeds = [float(speed[1]) for one in readings if (speed := _SPEED.match(one.condition))]
    if not speeds:
        return readings[0].condition
    return f"{median(speeds):.0f} rpm"


def told_place(reading: GasReading) -> str:
    """Where a reading was taken, as people say it: a speed with its unit, what was only assumed called so."""
    place = reading.condition + (" rpm" if reading.condition.isdigit() else "")
    return f"taken as {place}" if reading.assumed else place


def _settled(group: list[GasReading], options: GasOptions) -> list[GasReading]:
    """The stretch without what comes before the analyzer settled, and after its probe was pulled."""
    far = [False] * len(group)
    for gas, channel in (("co2", options.meter.co2), ("o2", options.meter.o2)):
        values = [getattr(one, gas) for one in group]
        middle = median(values)
        spread = 1.4826 * median(abs(value - middle) for value in values)
        allowed = SETTLED_WITHIN * max(gas_uncertainty(middle, channel), spread)
        far = [was or abs(value - middle) > allowed for was, value in zip(far, values, strict=True)]
    good = [index for index, one in enumerate(far) if not one]
    return group[good[0] : good[-1] + 1] if good else group


def _moved(readings: Sequence[GasReading], options: GasOptions) -> str:
    """The gas whose first and last third differ most beyond what the analyzer's repeats do."""
    third = len(readings) // 3
    if third < 2:
        return ""
    meter, worst, name = options.meter, MOVED, ""
    for gas, channel in zip(GASES, (meter.co, meter.co2, meter.o2, meter.hc), strict=True):
        ends = [fmean(getattr(one, gas) for one in part) for part in (readings[:third], readings[-third:])]
        doubt = gas_uncertainty(max(ends), channel) or inf
        if (size := abs(ends[1] - ends[0]) / doubt) > worst:
            worst, name = size, gas
    return name


def stretch_warnings(stretches: Sequence[Stretch]) -> list[str]:
    """What a reader of the means should know, in plain sentences."""
    said = []
    if any(one.mean.assumed for one in stretches):
        said.append(
            f"The table does not say where it was read: all of it is taken as {stretches[0].mean.condition}. If it was "
            "read elsewhere say so with the file, or give the table a column `condition` or `rpm`."
        )
    for one in stretches:
        if one.left_out:
            said.append(
                f"{told_place(one.mean)}: {one.left_out} readings before the gas settled, or after the probe was "
                "pulled, were left out."
            )
        if one.moved:
            said.append(
                f"{told_place(one.mean)}: {one.moved.upper()} moved while it was read; if the engine's speed changed, "
                "read each speed by itself."
            )
    return said


def row_warnings(findings: Sequence[InputFault], most: int = 3) -> list[str]:
    """The first of the rows that could not be used, and how many more there are."""
    said = [one.message for one in findings[:most]]
    if len(findings) > most:
        said.append(f"{len(findings) - most} more rows could not be used.")
    return said
