"""Gauge readings as observations: SI value, uncertainty of instrument and method, specification."""

from __future__ import annotations

from collections.abc import Mapping

from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.evidence.gauge.budget import Budget, reading_budget
from dwellwright.evidence.gauge.corrected import Correction
from dwellwright.evidence.gauge.sheet import GaugeReading, GaugeSheet
from dwellwright.evidence.observation import Measured, Observation, Regime


def reading_instrument(reading: GaugeReading) -> Instrument | None:
    """What it was measured with: as the sheet says, else the item's usual instrument, else None."""
    if reading.instrument and reading.instrument.measures(reading.dimension):
        return reading.instrument
    usual = reading.known.instrument if reading.known else ""
    return instrument(usual) if usual else None


def budget_of(reading: GaugeReading, correction: Correction | None = None) -> Budget | None:
    """Uncertainty budget of a reading's mean; None if nothing is known of its instrument. [SI]

    Args:
        reading: repeats with one gauge.
        correction: what is known of the very instrument; the mean is corrected by it.
    """
    tool = reading_instrument(reading)
    if tool is None:
        return None
    budget = reading_budget(reading.repeats, tool, reading.known.method if reading.known else 0.0)
    return correction.corrected(budget) if correction else budget


def observation(reading: GaugeReading, correction: Correction | None = None) -> Observation | None:
    """One reading as the model meets it; None for an item that no observation uses.

    Args:
        reading: repeats with one gauge.
        correction: calibration of its instrument, or card of the shop-made gauge, if there is one.
    """
    item, budget = reading.known, budget_of(reading, correction)
    if item is None or item.measured is None or budget is None:
        return None
    done = f"; {correction.words(reading.mean, reading.unit)}" if correction else ""
    return Observation(
        measured=Measured(item.measured),
        regime=Regime(item.regime),
        value=budget.value,
        uncertainty=budget.normal_equivalent,
        source=f"{reading.source}, {reading.item}{done}",
        wanted=reading.wanted,
    )


def observations(sheet: GaugeSheet, corrections: Mapping[str, Correction] | None = None) -> list[Observation]:
    """Every reading of the sheet that the catalogue knows.

    Lengths in metres, voltages in volts, vacuum in pascals below the atmosphere, screws in turns out.
    A float reading is a depth below the rim: larger means that the fuel stands lower, hence leaner.

    Args:
        sheet: the bench sheet.
        corrections: by item, what is known of the very instrument that it was taken with.
    """
    own = corrections or {}
    found = (observation(reading, own.get(name)) for name, reading in sheet.readings.items())
    return [one for one in found if one is not None]


def named_corrections(
    sheet: GaugeSheet, known: Mapping[str, Correction]
) -> tuple[dict[str, Correction], tuple[str, ...]]:
    """What is known of the very instruments that a sheet names, by item; and words for each that nobody knows.

    Args:
        sheet: the bench sheet.
        known: by `kind:mark`.
    """
    found, unknown = {}, []
    for item, reading in sheet.readings.items():
        if not (reading.instrument and reading.mark):
            continue
        name = f"{reading.instrument.name}:{reading.mark}"
        if name in known:
            found[item] = known[name]
        else:
            unknown.append(f"{reading.source}: the shop has no {reading.instrument.label} {reading.mark}; "
                           "its reading stays as it is, with the usual limit of error")  # fmt: skip
    return found, tuple(unknown)
