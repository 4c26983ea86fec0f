"""Gauge readings as observations: SI value, uncertainty of instrument and method, specification."""

from __future__ import annotations

from collections.abc import Mapping

from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.evidence.gauge.budget import Budget, reading_budget
from dwellwright.evidence.gauge.sheet import GaugeReading, GaugeSheet
from dwellwright.evidence.gauge.shop.truth import GaugeTruth
from dwellwright.evidence.observation import Measured, Observation, Regime


def reading_instrument(reading: GaugeReading) -> Instrument | None:
    """What it was measured with: as the sheet says, else the item's usual instrument, else None."""
    if reading.instrument and reading.instrument.dimension is reading.dimension:
        return reading.instrument
    usual = reading.known.instrument if reading.known else ""
    return instrument(usual) if usual else None


def budget_of(reading: GaugeReading, truth: GaugeTruth | None = None) -> Budget | None:
    """Uncertainty budget of a reading's mean; None if nothing is known of its instrument. [SI]

    Args:
        reading: repeats with one gauge.
        truth: what a shop-made gauge really measures; the mean is corrected by it.
    """
    tool = reading_instrument(reading)
    if tool is None:
        return None
    budget = reading_budget(reading.repeats, tool, reading.known.method if reading.known else 0.0)
    return truth.corrected(budget) if truth else budget


def observation(reading: GaugeReading, truth: GaugeTruth | None = None) -> Observation | None:
    """One reading as the model meets it; None for an item that no observation uses.

    Args:
        reading: repeats with one gauge.
        truth: the card of a shop-made gauge, if it was taken with one.
    """
    item, budget = reading.known, budget_of(reading, truth)
    if item is None or item.measured is None or budget is None:
        return None
    card = f", corrected by the card of {truth.name}" if truth else ""
    return Observation(
        measured=Measured(item.measured),
        regime=Regime(item.regime),
        value=budget.value,
        uncertainty=budget.normal_equivalent,
        source=f"{reading.source}, {reading.item}{card}",
        wanted=reading.wanted,
    )


def observations(sheet: GaugeSheet, truths: Mapping[str, GaugeTruth] | None = None) -> list[Observation]:
    """Every reading of the sheet that the catalogue knows.

    Lengths in metres, voltages in volts, vacuum in pascals below the atmosphere, screws in turns out.
    A float reading is a depth below the rim: larger means that the fuel stands lower, hence leaner.

    Args:
        sheet: the bench sheet.
        truths: by item, the card of the shop-made gauge that it was taken with.
    """
    cards = truths or {}
    found = (observation(reading, cards.get(name)) for name, reading in sheet.readings.items())
    return [one for one in found if one is not None]
