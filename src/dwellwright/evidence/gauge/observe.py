"""Gauge readings as observations: SI value, uncertainty of instrument and method, specification."""

from __future__ import annotations

from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.evidence.gauge.budget import Budget, reading_budget
from dwellwright.evidence.gauge.sheet import GaugeReading, GaugeSheet
from dwellwright.evidence.observation import Measured, Observation, Regime


def reading_instrument(reading: GaugeReading) -> Instrument | None:
    """What it was measured with: as the sheet says, else the item's usual instrument, else None."""
    if reading.instrument and reading.instrument.dimension is reading.dimension:
        return reading.instrument
    usual = reading.known.instrument if reading.known else ""
    return instrument(usual) if usual else None


def budget_of(reading: GaugeReading) -> Budget | None:
    """Uncertainty budget of a reading's mean; None if nothing is known of its instrument. [SI]"""
    tool = reading_instrument(reading)
    if tool is None:
        return None
    return reading_budget(reading.repeats, tool, reading.known.method if reading.known else 0.0)


def observation(reading: GaugeReading) -> Observation | None:
    """One reading as the model meets it; None for an item that no observation uses."""
    item, budget = reading.known, budget_of(reading)
    if item is None or item.measured is None or budget is None:
        return None
    return Observation(
        measured=Measured(item.measured),
        regime=Regime(item.regime),
        value=budget.value,
        uncertainty=budget.normal_equivalent,
        source=f"{reading.source}, {reading.item}",
        wanted=reading.wanted,
    )


def observations(sheet: GaugeSheet) -> list[Observation]:
    """Every reading of the sheet that the catalogue knows.

    Lengths in metres, voltages in volts, vacuum in pascals below the atmosphere, screws in turns out.
    A float reading is a depth below the rim: larger means that the fuel stands lower, hence leaner.
    """
    found = (observation(reading) for reading in sheet.readings.values())
    return [one for one in found if one is not None]
