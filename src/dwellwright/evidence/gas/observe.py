"""Gas readings as observations: each gas and the air ratio, with the analyzer's uncertainty."""

from __future__ import annotations

from collections.abc import Iterable

from dwellwright.errors import InputFault
from dwellwright.evidence.gas.air_ratio import GasOptions, gas_options, gas_uncertainty, lambda_budget
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.evidence.observation import Measured, Observation


def gas_observations(reading: GasReading, options: GasOptions) -> list[Observation]:
    """The four gases of one reading and its lambda. [mole fraction, dry; HC as hexane; lambda: -]

    A reading with too little CO2 to balance gives the gases alone.
    """
    meter = options.meter
    gases = (
        (Measured.CO, reading.co, meter.co),
        (Measured.CO2, reading.co2, meter.co2),
        (Measured.O2, reading.o2, meter.o2),
        (Measured.HC, reading.hc, meter.hc),
    )
    found = [
        Observation(m, reading.regime, value, gas_uncertainty(value, channel), f"{reading.source}, {m}")
        for m, value, channel in gases
    ]
    try:
        ratio = lambda_budget(reading, options)
    except InputFault:
        return found
    where = f"{reading.source}, lambda from four gases"
    found.append(Observation(Measured.GAS_LAMBDA, reading.regime, ratio.value, ratio.uncertainty, where))
    return found


def observations(readings: Iterable[GasReading], options: GasOptions | None = None) -> list[Observation]:
    """Every gas of every reading, and its lambda, with standard uncertainties.

    Args:
        readings: from `read_gas`.
        options: fuel, analyzer class, hydrocarbon factor; None takes the usual ones.
    """
    chosen = options or gas_options()
    return [one for reading in readings for one in gas_observations(reading, chosen)]
