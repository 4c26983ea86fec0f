"""The bench sheet: what the engine is, and gauge readings with repeats, unit and specification each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

from dwellwright.catalogue.gauge_items import GaugeItem, gauge_items
from dwellwright.catalogue.instruments import Instrument
from dwellwright.errors import InputFault
from dwellwright.units import Dimension


@dataclass(frozen=True)
class GaugeReading:
    """One quantity measured several times with one gauge.

    Args:
        item: name in the item column.
        unit: the unit it was typed in.
        dimension: of that unit.
        repeats: every reading. [SI]
        wanted: specification, if the sheet has one. [SI]
        tolerance: half width allowed around it, if the sheet has one. [SI]
        instrument: named on the sheet, else None.
        mark: which of its kind, where the sheet says so.
        source: file and row.
    """

    item: str
    unit: str
    dimension: Dimension
    repeats: tuple[float, ...]
    wanted: float | None
    tolerance: float | None
    instrument: Instrument | None
    source: str
    mark: str = ""

    @property
    def mean(self) -> float:
        """Mean of the repeats. [SI]"""
        return sum(self.repeats) / len(self.repeats)

    @property
    def spread(self) -> float:
        """Standard deviation of one reading, n - 1; zero for a single one. [SI]"""
        if len(self.repeats) < 2:
            return 0.0
        return sqrt(sum((one - self.mean) ** 2 for one in self.repeats) / (len(self.repeats) - 1))

    @property
    def known(self) -> GaugeItem | None:
        """What the catalogue says of this item; None if it has none."""
        return gauge_items().get(self.item)


@dataclass(frozen=True)
class GaugeSheet:
    """A bench sheet as read.

    Args:
        name: of the file.
        engine: layout as typed.
        cylinders: count.
        displacement: swept volume. [m³]
        idle_speed: specified. [1/s]
        codes: stored trouble codes.
        readings: by item.
        findings: cells and rows that could not be used, each with row and column.
    """

    name: str
    engine: str | None
    cylinders: int | None
    displacement: float | None
    idle_speed: float | None
    codes: tuple[str, ...]
    readings: Mapping[str, GaugeReading]
    findings: tuple[InputFault, ...]
