"""Gas readings as observations: each gas and the air ratio, with the analyzer's uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

from dwellwright.errors import InputFault
from dwellwright.evidence.gas.air_ratio import GasOptions, gas_options, gas_uncertainty, lambda_budget
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.evidence.gas.stretches import Stretch, gas_stretches
from dwellwright.evidence.observation import Measured, Observation


def gas_observations(stretch: Stretch, options: GasOptions) -> list[Observation]:
    """The four gases of one stretch and its lambda. [mole fraction, dry; HC as hexane; lambda: -]

    A reading with too little CO2 to balance gives the gases alone.
    """
    meter, reading = options.meter, stretch.mean
    gases = (
        (Measured.CO, "co", meter.co),
        (Measured.CO2, "co2", meter.co2),
        (Measured.O2, "o2", meter.o2),
        (Measured.HC, "hc", meter.hc),
    )
    found = []
    for measured, gas, channel in gases:
        value = getattr(reading, gas)
        doubt = hypot(gas_uncertainty(value, channel), stretch.spread[gas])
        found.append(Observation(measured, reading.regime, value, doubt, f"{reading.source}, {measured}"))
    try:
        ratio = lambda_budget(reading, options)
    except InputFault:
        return found
    doubt = hypot(ratio.uncertainty, lambda_scatter(stretch, options, ratio.value))
    where = f"{reading.source}, lambda from four gases"
    found.append(Observation(Measured.GAS_LAMBDA, reading.regime, ratio.value, doubt, where))
    return found


def lambda_scatter(stretch: Stretch, options: GasOptions, value: float) -> float:
    """What the scatter of each mean adds to lambda, each gas by itself. [-]"""
    parts = []
    for gas, spread in stretch.spread.items():
        if spread:
            moved = replace(stretch.mean, **{gas: getattr(stretch.mean, gas) + spread})
            parts.append(lambda_budget(moved, options).value - value)
    return hypot(*parts)


def observations(readings: Sequence[GasReading], options: GasOptions | None = None) -> list[Observation]:
    """Every gas of every stretch of readings, and its lambda, with standard uncertainties.

    Args:
        readings: from `read_gas`.
        options: fuel, analyzer class, hydrocarbon factor; None takes the usual ones.
    """
    chosen = options or gas_options()
    return [one for part in gas_stretches(readings, chosen) for one in gas_observations(part, chosen)]
