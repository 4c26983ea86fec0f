"""Gauge readings: the bench sheet, uncertainty budgets, turns of screws, gauges and their studies."""

from dwellwright.evidence.gauge.observe import named_corrections as named_corrections
from dwellwright.evidence.gauge.observe import observations as observations
from dwellwright.evidence.gauge.read import read_gauges as read_gauges
from dwellwright.evidence.gauge.sheet import GaugeReading as GaugeReading
from dwellwright.evidence.gauge.sheet import GaugeSheet as GaugeSheet
