"""From the unit a column is written in to SI: as a factor and an offset, or as an expression over columns."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse
from dwellwright.evidence.trace.names import column_unit
from dwellwright.evidence.trace.trace import Polarity

STANDARD_ATMOSPHERE = 101325.0
"""Taken for the barometer when a vacuum column comes without one (US Standard Atmosphere 1976, sea level). [Pa]"""
WRITTEN_TIME = "time as written"


@dataclass(frozen=True)
class SiColumns:
    """How the columns of one recording become SI.

    Args:
        cylinders: scale of the dwell meter.
        polarity: what a high duty reading means.
    """

    cylinders: int
    polarity: Polarity

    def line(self, use: ColumnUse) -> tuple[float, float]:
        """Factor and offset of a column: SI = factor * written + offset."""
        if use.channel is Channel.TIME:
            return 1.0, 0.0
        if use.channel is not Channel.DUTY:
            unit = column_unit(use.unit, where=f"column '{use.column}'")
            return unit.factor, unit.offset
        factor = self.cylinders / 360.0 if use.unit == "deg" else column_unit(use.unit).factor
        return (-factor, 1.0) if self.polarity.meter_reversed else (factor, 0.0)

    def converted(self, columns: ColumnMap) -> list[pl.Expr]:
        """The time as written, then the SI columns, over columns of the header's names."""
        time = pl.col(columns.by_channel[Channel.TIME].column).alias(WRITTEN_TIME)
        return [time, *(self._expression(use) for use in columns.uses if use.channel is not Channel.TIME)]

    def _expression(self, use: ColumnUse) -> pl.Expr:
        factor, offset = self.line(use)
        column = pl.col(use.column)
        scaled = column * factor if factor != 1.0 else column
        return (scaled + offset if offset else scaled).alias(str(use.channel))


def derived(columns: ColumnMap) -> list[pl.Expr]:
    """What follows from the SI columns: the pressure behind a vacuum."""
    uses = columns.by_channel
    if Channel.MANIFOLD_VACUUM not in uses or Channel.MANIFOLD_PRESSURE in uses:
        return []
    around = pl.col(str(Channel.BAROMETER)) if Channel.BAROMETER in uses else pl.lit(STANDARD_ATMOSPHERE)
    return [(around - pl.col(str(Channel.MANIFOLD_VACUUM))).alias(str(Channel.MANIFOLD_PRESSURE))]
