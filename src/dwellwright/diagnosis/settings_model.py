"""What gauges and meters should read on a car in a given state: the readings that look at one thing directly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.state import Field
from dwellwright.carburetor.steady import LEVEL_BAND, LEVEL_PER_PRESSURE
from dwellwright.catalogue.shop_tests import shipped_tests
from dwellwright.diagnosis.readings import Evidence, Float
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.physics.atmosphere import SEA_LEVEL_PRESSURE

SENSOR_MIDDLE, SENSOR_MIDDLE_SPREAD = 0.465, 0.022
"""Middle between a healthy sensor's rich and lean level at idle, and its spread, assumed. [V]"""
WARM_SPREAD = 5.0
"""How far a healthy warm engine's coolant may be from the typical, assumed. [K]"""

StateReading = Callable[[Float, Passages, float], Float]


def _field(field: Field, sign: float = 1.0) -> StateReading:
    return lambda states, passages, vacuum: sign * states[:, field]


def travel_change(states: Float, passages: Passages, vacuum: float) -> Float:
    """Change of the plunger's travel against the sheet, for each state. [m]"""
    free = passages.rod_travel + states[:, Field.RICH_STOP] - states[:, Field.LEAN_STOP]
    free = np.maximum(free - states[:, Field.ROD_TRAVEL_LOST], 0.0)
    return free * (1.0 - np.abs(states[:, Field.RODS_STUCK])) - passages.rod_travel


def running_level(states: Float, passages: Passages, vacuum: float) -> Float:
    """Change of the depth at which a float gauge finds the fuel, engine running. [m]"""
    leak = LEVEL_BAND * np.minimum(states[:, Field.SEAT_LEAK], 1.0)
    return -(states[:, Field.FUEL_LEVEL] + leak + LEVEL_PER_PRESSURE * states[:, Field.FUEL_PRESSURE])


def _needles(states: Float, passages: Passages, vacuum: float) -> Float:
    return 0.5 * (states[:, Field.NEEDLE_LEFT] + states[:, Field.NEEDLE_RIGHT])


@dataclass(frozen=True)
class DirectReading:
    """A reading of one thing: its deviation from what was wanted, and how a state predicts that deviation.

    Args:
        measured: what is read.
        regime: where.
        deviation: reading minus what was wanted. [SI or turns]
        uncertainty: standard uncertainty. [SI or turns]
        predicted: deviation that a state predicts.
        source: file and place.
    """

    measured: Measured
    regime: Regime
    deviation: float
    uncertainty: float
    predicted: StateReading
    source: str


DIRECT: dict[Measured, tuple[StateReading, float]] = {
    Measured.LEAN_STOP: (_field(Field.LEAN_STOP), 25e-6),
    Measured.RICH_STOP: (_field(Field.RICH_STOP), 25e-6),
    Measured.ROD_TRAVEL: (travel_change, 35e-6),
    Measured.IDLE_NEEDLE: (_needles, 0.06),
    Measured.IDLE_BLEED: (_field(Field.IDLE_BLEED), 0.06),
    Measured.FLOAT_LEVEL: (_field(Field.FUEL_LEVEL, -1.0), 0.2e-3),
    Measured.FLOAT_LEVEL_RUNNING: (running_level, 0.4e-3),
    Measured.THROTTLE_SENSOR_CLOSED: (_field(Field.THROTTLE_SENSOR), 0.01),
    Measured.FUEL_PRESSURE: (_field(Field.FUEL_PRESSURE), 1.0e3),
    Measured.ETHANOL: (_field(Field.ETHANOL), 0.01),
    Measured.SENSOR_FORCED_RICH: (_field(Field.SENSOR_BIAS), 0.020),
    Measured.SENSOR_FORCED_LEAN: (_field(Field.SENSOR_BIAS), 0.020),
}
"""How each direct reading follows from the state, and the least doubt believed of it (method and person), assumed."""

SEARCH_FLOOR = 0.25
"""A search's result is never believed better than this share of the test's own doubt, assumed. [-]"""
SEARCHES = {
    Measured(test.after): (_field(Field[test.reads.upper()]), SEARCH_FLOOR * test.doubt)
    for test in shipped_tests()
    if test.result and test.reads.upper() in Field.__members__
}
"""Searches that look for one thing: how much of it was found, and the least doubt believed of it."""
DIRECT |= SEARCHES

FARTHEST = 300.0
"""A deviation counts no further than so many standard uncertainties: the reading is impossible long before. [-]"""
FALLBACK_WANTED = {Measured.ETHANOL: 0.0} | dict.fromkeys(SEARCHES, 0.0)
"""What is wanted where a reading came without its specification."""


def direct_readings(
    evidence: Evidence, warm_coolant: float, sheet_wanted: dict[Measured, float]
) -> list[DirectReading]:
    """Every direct reading there is, as a deviation."""
    found = []
    for (measured, regime), reading in evidence.table.items():
        if measured not in DIRECT:
            continue
        wanted = reading.wanted
        if wanted is None:
            wanted = sheet_wanted.get(measured, FALLBACK_WANTED.get(measured))
        if wanted is None:
            continue
        predicted, least = DIRECT[measured]
        sigma = float(np.hypot(reading.uncertainty, least))
        deviation = float(np.clip(reading.value - wanted, -FARTHEST * sigma, FARTHEST * sigma))
        found.append(DirectReading(measured, regime, deviation, sigma, predicted, reading.source))
    found += _barometer(evidence)
    found += _coolant(evidence, warm_coolant)
    found += _throttle(evidence)
    found += _sensor_middle(evidence)
    return found


def _barometer(evidence: Evidence) -> list[DirectReading]:
    """Barometer, or idle vacuum and manifold pressure added up where nobody read one."""
    reading = evidence.get(Measured.BAROMETER, Regime.KEY_ON) or evidence.get(Measured.BAROMETER)
    if reading is not None:
        value, doubt, source = reading.value, reading.uncertainty, reading.source
    else:
        vacuum = evidence.get(Measured.IDLE_VACUUM)
        inside = evidence.get(Measured.MANIFOLD_PRESSURE, Regime.IDLE)
        if vacuum is None or inside is None:
            return []
        value, source = vacuum.value + inside.value, f"{vacuum.source} and {inside.source}"
        doubt = float(np.hypot(vacuum.uncertainty, inside.uncertainty))

    def predicted(states: Float, passages: Passages, vacuum: float) -> Float:
        return states[:, Field.AMBIENT_PRESSURE] - SEA_LEVEL_PRESSURE

    sigma = float(np.hypot(doubt, 300.0))
    deviation = value - SEA_LEVEL_PRESSURE
    return [DirectReading(Measured.BAROMETER, Regime.KEY_ON, deviation, sigma, predicted, source)]


def _sensor_middle(evidence: Evidence) -> list[DirectReading]:
    """Where a sensor that crosses at idle has its middle: a biased one has it elsewhere."""
    high, low = (evidence.get(what, Regime.IDLE) for what in (Measured.SENSOR_HIGH, Measured.SENSOR_LOW))
    share = evidence.get(Measured.SENSOR_RICH_SHARE, Regime.IDLE)
    if high is None or low is None or share is None or not 0.2 < share.value < 0.8:
        return []
    deviation = 0.5 * (high.value + low.value) - SENSOR_MIDDLE
    return [DirectReading(Measured.SENSOR_MEAN, Regime.IDLE, deviation, SENSOR_MIDDLE_SPREAD,
                          _field(Field.SENSOR_BIAS), high.source)]  # fmt: skip


def _coolant(evidence: Evidence, warm_coolant: float) -> list[DirectReading]:
    """The car's own coolant reading against a thermometer, or against a typical warm engine."""
    own = evidence.get(Measured.COOLANT_TEMPERATURE, Regime.IDLE)
    if own is None:
        return []
    thermometer = evidence.get(Measured.COOLANT_THERMOMETER)
    truth, doubt = (
        (thermometer.value, thermometer.uncertainty) if thermometer else (warm_coolant, WARM_SPREAD)
    )
    sigma = float(np.hypot(np.hypot(own.uncertainty, doubt), 1.5))
    return [DirectReading(Measured.COOLANT_TEMPERATURE, Regime.IDLE, own.value - truth, sigma,
                          _field(Field.COOLANT_SENSOR), own.source)]  # fmt: skip


IDLE_THROTTLE_RISE = 0.03
"""How much above its closed reading the throttle sensor idles, with an equal spread, assumed. [V]"""


def _throttle(evidence: Evidence) -> list[DirectReading]:
    """Throttle voltage at idle in a recording, where no closed-throttle reading was wanted at the bench."""
    own, closed = (
        evidence.get(Measured.THROTTLE_VOLTAGE, Regime.IDLE),
        evidence.get(Measured.THROTTLE_SENSOR_CLOSED),
    )
    wanted = closed.wanted if closed is not None and closed.wanted is not None else None
    if own is None or wanted is None:
        return []
    sigma = float(np.hypot(own.uncertainty, IDLE_THROTTLE_RISE))
    deviation = own.value - wanted - IDLE_THROTTLE_RISE
    return [DirectReading(Measured.THROTTLE_VOLTAGE, Regime.IDLE, deviation, sigma,
                          _field(Field.THROTTLE_SENSOR), own.source)]  # fmt: skip
