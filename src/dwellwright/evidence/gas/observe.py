"""Gas readings as observations: each gas and the air ratio, with the analyzer's uncertainty."""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

from dwellwright.catalogue.instruments import Analyzer, GasChannel, analyzer
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.evidence.gauge.budget import rectangular, resolution
from dwellwright.evidence.observation import Measured, Observation

DEFAULT_CLASS = "class_1"
"""Analyzer class where nobody says otherwise: a garage's infrared analyzer (assumed)."""


def gas_uncertainty(reading: float, channel: GasChannel) -> float:
    """Standard uncertainty of one gas from the analyzer's limits of error and its resolution. [-]"""
    return hypot(rectangular(channel.largest_error(reading)), resolution(channel.resolution))


def gas_observations(reading: GasReading, meter: Analyzer) -> list[Observation]:
    """The four gases of one reading. [mole fraction, dry; HC as hexane]"""
    gases = (
        (Measured.CO, reading.co, meter.co),
        (Measured.CO2, reading.co2, meter.co2),
        (Measured.O2, reading.o2, meter.o2),
        (Measured.HC, reading.hc, meter.hc),
    )
    return [
        Observation(
            measured, reading.regime, value, gas_uncertainty(value, channel), f"{reading.source}, {measured}"
        )
        for measured, value, channel in gases
    ]


def observations(readings: Iterable[GasReading], analyzer_class: str = DEFAULT_CLASS) -> list[Observation]:
    """Every gas of every reading with its standard uncertainty.

    Args:
        readings: from `read_gas`.
        analyzer_class: key of the accuracy class in the catalogue.

    Raises:
        InputFault: no such analyzer class.
    """
    meter = analyzer(analyzer_class)
    return [one for reading in readings for one in gas_observations(reading, meter)]
