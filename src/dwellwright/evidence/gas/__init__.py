"""Exhaust gas readings: the table, the air ratio with its uncertainty, and what the gases point to."""

from dwellwright.evidence.gas.air_ratio import AirRatio as AirRatio
from dwellwright.evidence.gas.air_ratio import GasOptions as GasOptions
from dwellwright.evidence.gas.air_ratio import air_ratio as air_ratio
from dwellwright.evidence.gas.air_ratio import gas_options as gas_options
from dwellwright.evidence.gas.observe import observations as observations
from dwellwright.evidence.gas.reading import GasReading as GasReading
from dwellwright.evidence.gas.reading import read_gas as read_gas
