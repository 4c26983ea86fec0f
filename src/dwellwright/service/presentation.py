"""How a reading is shown: its name in plain words, its shop unit, its decimals. Duty is shown as dwell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.units import SIX_CYLINDER_SCALE, dwell_degrees, from_si, step_from_si

DWELL = "dwell"
"""Not a unit of the table in `units`: duty shown in degrees on the six-cylinder scale."""


@dataclass(frozen=True)
class Look:
    """How one kind of reading is shown."""

    label: str
    unit: str
    decimals: int


@dataclass(frozen=True)
class ShownReading:
    """A reading ready to be shown; every number is in `unit`. `low` and `high` hold the value at about 95 %."""

    measured: str
    regime: str
    label: str
    value: float
    low: float
    high: float
    wanted: float | None
    unit: str
    decimals: int
    source: str

    @property
    def text(self) -> str:
        """Value with its unit."""
        return f"{self.value:.{self.decimals}f} {self.unit}".rstrip()

    @property
    def interval_text(self) -> str:
        """The interval with its unit."""
        return f"{self.low:.{self.decimals}f} to {self.high:.{self.decimals}f} {self.unit}".rstrip()

    @property
    def wanted_text(self) -> str:
        """The specification with its unit; empty where none came with the reading."""
        return "" if self.wanted is None else f"{self.wanted:.{self.decimals}f} {self.unit}".rstrip()


_M = Measured
LOOKS: dict[Measured, Look] = {
    _M.DUTY: Look("dwell (six-cylinder scale)", DWELL, 1),
    _M.LIMIT_CYCLE_PERIOD: Look("period of the loop's swing", "s", 2),
    _M.LIMIT_CYCLE_AMPLITUDE: Look("dwell swing about its mean", DWELL, 1),
    _M.CLOSED_LOOP_SHARE: Look("share of time in closed loop", "%", 0),
    _M.SHARE_AT_RICH_LIMIT: Look("share of time at the rich limit", "%", 0),
    _M.SHARE_AT_LEAN_LIMIT: Look("share of time at the lean limit", "%", 0),
    _M.FIRST_CLOSED_LOOP: Look("first closed loop after start", "s", 0),
    _M.LOOP_DELAY: Look("delay from solenoid to sensor", "s", 2),
    _M.PULSE_RATE: Look("pulse rate", "Hz", 2),
    _M.SENSOR_MEAN: Look("sensor mean", "mV", 0),
    _M.SENSOR_HIGH: Look("sensor high", "mV", 0),
    _M.SENSOR_LOW: Look("sensor low", "mV", 0),
    _M.SENSOR_RICH_SHARE: Look("sensor share rich", "%", 0),
    _M.SENSOR_CROSSING_RATE: Look("sensor crossings", "Hz", 2),
    _M.LEAN_TO_RICH_TIME: Look("sensor lean to rich", "s", 2),
    _M.RICH_TO_LEAN_TIME: Look("sensor rich to lean", "s", 2),
    _M.SENSOR_FORCED_RICH: Look("sensor forced rich", "mV", 0),
    _M.SENSOR_FORCED_LEAN: Look("sensor forced lean", "mV", 0),
    _M.ENGINE_SPEED: Look("engine speed", "rpm", 0),
    _M.MANIFOLD_PRESSURE: Look("manifold pressure", "kPa", 1),
    _M.BAROMETER: Look("barometer", "kPa", 1),
    _M.IDLE_VACUUM: Look("idle vacuum", "kPa", 1),
    _M.THROTTLE_VOLTAGE: Look("throttle sensor", "V", 2),
    _M.IDLE_ROUGHNESS: Look("idle roughness (0 smooth, 3 shaking)", "1", 0),
    _M.COOLANT_TEMPERATURE: Look("coolant by its sensor", "degC", 0),
    _M.COOLANT_THERMOMETER: Look("coolant by thermometer", "degC", 0),
    _M.CO: Look("CO", "%", 2),
    _M.CO2: Look("CO2", "%", 1),
    _M.O2: Look("O2", "%", 2),
    _M.HC: Look("HC as hexane", "ppm", 0),
    _M.GAS_LAMBDA: Look("lambda from the gas", "1", 3),
    _M.LEAN_STOP: Look("lean stop height", "thou", 1),
    _M.RICH_STOP: Look("rich stop height", "thou", 1),
    _M.ROD_TRAVEL: Look("travel between the stops", "thou", 1),
    _M.IDLE_NEEDLE: Look("idle needle, turns out", "turns", 2),
    _M.IDLE_BLEED: Look("idle air bleed, turns out", "turns", 2),
    _M.FLOAT_LEVEL: Look("float level below the rim", "mm", 1),
    _M.FLOAT_LEVEL_RUNNING: Look("float level, running", "mm", 1),
    _M.THROTTLE_SENSOR_CLOSED: Look("throttle sensor, closed", "V", 2),
    _M.FUEL_PRESSURE: Look("fuel pressure", "kPa", 1),
    _M.SOLENOID_RESISTANCE: Look("solenoid winding", "ohm", 1),
    _M.ETHANOL: Look("ethanol in the fuel", "vol_pct", 1),
    _M.PURGE_VACUUM: Look("vacuum at the purge hose", "kPa", 1),
    _M.RESPONSE_ENRICHMENT: Look("propane given: dwell change", DWELL, 1),
    _M.RESPONSE_INDUCED_LEAK: Look("air let in: dwell change", DWELL, 1),
    _M.RESPONSE_SOLENOID_UNPLUGGED: Look("solenoid unplugged: speed change", "rpm", 0),
    _M.RESPONSE_DRIVER_LEAD_GROUNDED: Look("driver lead grounded: speed change", "rpm", 0),
    _M.RESPONSE_SOLENOID_GROUNDED_SENSOR: Look("driver lead grounded: sensor change", "mV", 0),
    _M.RESPONSE_SENSOR_LEAD_GROUNDED: Look("sensor lead grounded: dwell change", DWELL, 1),
    _M.RESPONSE_SENSOR_LEAD_FED: Look("sensor lead fed: dwell change", DWELL, 1),
    _M.RESPONSE_PURGE_HOSE_PINCHED: Look("purge hose pinched: dwell change", DWELL, 1),
    _M.AIR_LEAK_SEARCH: Look("air leak found", "mm2", 1),
    _M.VENTILATION_PINCH: Look("ventilation valve opening off by", "mm2", 1),
    _M.EXHAUST_LEAK_SEARCH: Look("air drawn into the exhaust", "%", 1),
    _M.INJECTED_AIR_TEST: Look("injected air not diverted", "%", 1),
    _M.CYLINDER_BALANCE: Look("cycles that do not burn", "%", 1),
    _M.SENSOR_WARMTH: Look("sensor colder than usual by", "delta_degC", 0),
    _M.POWER_PISTON_VACUUM: Look("power piston acts too early by", "kPa", 1),
    _M.SOLENOID_MOTION: Look("solenoid stands still (0 moves, 1 does not)", "1", 1),
    _M.IDLE_CHANNEL_PROBE: Look("idle channel closed", "%", 0),
    _M.MAIN_BLEED_LOOK: Look("main air bleed closed", "%", 0),
    _M.JET_MEASURED: Look("jet area too large by", "%", 1),
    _M.SEAT_LEAK_TEST: Look("float needle leaks, in idle fuel flows", "1", 2),
    _M.IDLE_BLEED_LOOK: Look("fixed idle bleed closed", "%", 0),
    _M.LAMBDA_ENERGIZED: Look("lambda, solenoid energized", "1", 3),
    _M.LAMBDA_RELEASED: Look("lambda, solenoid unplugged", "1", 3),
}
"""Every kind of reading; a test sees to it that none is missing."""

REGIME_LABELS: dict[Regime, str] = {
    Regime.KEY_ON: "key on", Regime.CRANKING: "cranking", Regime.WARM_UP: "warming up",
    Regime.OPEN_LOOP: "open loop", Regime.IDLE: "hot idle", Regime.FAST_NO_LOAD: "3000 rpm, no load",
    Regime.CRUISE: "cruise", Regime.PULL: "pull", Regime.OVERRUN: "overrun", Regime.BENCH: "bench",
}  # fmt: skip
"""Regimes in plain words."""

PRINTED_UNITS = {DWELL: "deg", "1": "", "vol_pct": "% by volume", "degC": "°C"}


def look_of(measured: Measured) -> Look:
    """How readings of that kind are shown."""
    return LOOKS[measured]


def shown_value(measured: Measured, value: float) -> float:
    """An SI value (screws in turns) in the unit it is shown in.

    >>> round(shown_value(Measured.DUTY, 0.5), 1), round(shown_value(Measured.LEAN_STOP, 0.00254), 1)
    (30.0, 100.0)
    """
    unit = LOOKS[measured].unit
    return dwell_degrees(value) if unit == DWELL else from_si(value, unit)


def shown_step(measured: Measured, step: float) -> float:
    """A difference or an uncertainty in the unit it is shown in."""
    unit = LOOKS[measured].unit
    return step * 360.0 / SIX_CYLINDER_SCALE if unit == DWELL else step_from_si(step, unit)


def shown(seen: Observation) -> ShownReading:
    """A reading ready to be shown."""
    look = LOOKS[seen.measured]
    low, high = (shown_value(seen.measured, end) for end in _possible(seen))
    wanted = None if seen.wanted is None else shown_value(seen.measured, seen.wanted)
    return ShownReading(
        measured=seen.measured.value,
        regime=seen.regime.value,
        label=look.label,
        value=shown_value(seen.measured, seen.value),
        low=low,
        high=high,
        wanted=wanted,
        unit=PRINTED_UNITS.get(look.unit, look.unit),
        decimals=look.decimals,
        source=seen.source,
    )


_SHARES = {_M.CLOSED_LOOP_SHARE, _M.SHARE_AT_RICH_LIMIT, _M.SHARE_AT_LEAN_LIMIT, _M.SENSOR_RICH_SHARE, _M.DUTY,
           _M.ETHANOL, _M.CO, _M.CO2, _M.O2, _M.HC}  # fmt: skip
"""Fractions: nothing below none of it or above all of it is possible."""


def _possible(seen: Observation) -> tuple[float, float]:
    low, high = seen.interval()
    if seen.measured not in _SHARES:
        return low, high
    return max(low, min(0.0, seen.value)), min(high, max(1.0, seen.value))


def reading_facts(seen: Observation) -> dict[str, Any]:
    """A reading as JSON: value, interval and specification in the unit it is shown in."""
    view = shown(seen)
    numbers = {"value": view.value, "low": view.low, "high": view.high, "wanted": view.wanted}
    rounded = {key: None if number is None else round(number, 6) for key, number in numbers.items()}
    return {"measured": view.measured, "regime": view.regime, "label": view.label, **rounded,
            "unit": view.unit or "1", "source": view.source}  # fmt: skip
