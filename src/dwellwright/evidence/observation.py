"""One reading, as the model will meet it: what, where in the operating range, value, doubt, source."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Regime(StrEnum):
    """Where in the engine's operating range something was seen."""

    KEY_ON = "key-on"
    CRANKING = "cranking"
    WARM_UP = "warm-up"
    OPEN_LOOP = "open-loop"
    IDLE = "idle"
    FAST_NO_LOAD = "3000"
    CRUISE = "cruise"
    PULL = "pull"
    OVERRUN = "overrun"
    BENCH = "bench"


class Measured(StrEnum):
    """What a reading is a reading of. Values are in SI (volt, pascal, kelvin, metre, second, fraction)
    except screw positions, which are in turns out from seated."""

    # the loop, from a recording or a waveform
    DUTY = "duty"
    LIMIT_CYCLE_PERIOD = "limit_cycle_period"
    LIMIT_CYCLE_AMPLITUDE = "limit_cycle_amplitude"
    CLOSED_LOOP_SHARE = "closed_loop_share"
    SHARE_AT_RICH_LIMIT = "share_at_rich_limit"
    SHARE_AT_LEAN_LIMIT = "share_at_lean_limit"
    FIRST_CLOSED_LOOP = "first_closed_loop"
    LOOP_DELAY = "loop_delay"
    PULSE_RATE = "pulse_rate"
    # the sensor
    SENSOR_MEAN = "sensor_mean"
    SENSOR_HIGH = "sensor_high"
    SENSOR_LOW = "sensor_low"
    SENSOR_RICH_SHARE = "sensor_rich_share"
    SENSOR_CROSSING_RATE = "sensor_crossing_rate"
    LEAN_TO_RICH_TIME = "lean_to_rich_time"
    RICH_TO_LEAN_TIME = "rich_to_lean_time"
    SENSOR_FORCED_RICH = "sensor_forced_rich"
    SENSOR_FORCED_LEAN = "sensor_forced_lean"
    # the engine
    ENGINE_SPEED = "engine_speed"
    MANIFOLD_PRESSURE = "manifold_pressure"
    BAROMETER = "barometer"
    IDLE_VACUUM = "idle_vacuum"
    THROTTLE_VOLTAGE = "throttle_voltage"
    IDLE_ROUGHNESS = "idle_roughness"
    COOLANT_TEMPERATURE = "coolant_temperature"
    COOLANT_THERMOMETER = "coolant_thermometer"
    # the exhaust
    CO = "co"
    CO2 = "co2"
    O2 = "o2"
    HC = "hc"
    GAS_LAMBDA = "gas_lambda"
    # the bench
    LEAN_STOP = "lean_stop"
    RICH_STOP = "rich_stop"
    ROD_TRAVEL = "rod_travel"
    IDLE_NEEDLE = "idle_needle"
    IDLE_BLEED = "idle_bleed"
    FLOAT_LEVEL = "float_level"
    FLOAT_LEVEL_RUNNING = "float_level_running"
    THROTTLE_SENSOR_CLOSED = "throttle_sensor_closed"
    FUEL_PRESSURE = "fuel_pressure"
    SOLENOID_RESISTANCE = "solenoid_resistance"
    ETHANOL = "ethanol"
    PURGE_VACUUM = "purge_vacuum"
    # what a test with a response changed: reading during it less the reading before
    RESPONSE_ENRICHMENT = "response_enrichment"
    RESPONSE_INDUCED_LEAK = "response_induced_leak"
    RESPONSE_SOLENOID_UNPLUGGED = "response_solenoid_unplugged"
    RESPONSE_DRIVER_LEAD_GROUNDED = "response_driver_lead_grounded"
    RESPONSE_SOLENOID_GROUNDED_SENSOR = "response_solenoid_grounded_sensor"
    RESPONSE_SENSOR_LEAD_GROUNDED = "response_sensor_lead_grounded"
    RESPONSE_SENSOR_LEAD_FED = "response_sensor_lead_fed"
    RESPONSE_PURGE_HOSE_PINCHED = "response_purge_hose_pinched"
    # searches: how much of one thing was found
    AIR_LEAK_SEARCH = "air_leak_search"
    VENTILATION_PINCH = "ventilation_pinch"
    EXHAUST_LEAK_SEARCH = "exhaust_leak_search"
    INJECTED_AIR_TEST = "injected_air_test"
    CYLINDER_BALANCE = "cylinder_balance"
    SENSOR_WARMTH = "sensor_warmth"
    POWER_PISTON_VACUUM = "power_piston_vacuum"
    SOLENOID_MOTION = "solenoid_motion"
    IDLE_CHANNEL_PROBE = "idle_channel_probe"
    MAIN_BLEED_LOOK = "main_bleed_look"
    JET_MEASURED = "jet_measured"
    SEAT_LEAK_TEST = "seat_leak_test"
    IDLE_BLEED_LOOK = "idle_bleed_look"
    LAMBDA_ENERGIZED = "lambda_energized"
    LAMBDA_RELEASED = "lambda_released"


@dataclass(frozen=True)
class Observation:
    """One quantity seen once, with its standard uncertainty.

    Args:
        measured: what it is a reading of.
        regime: where in the operating range.
        value: in SI (screws in turns).
        uncertainty: standard uncertainty (one sigma) in the same unit.
        source: file and place, for the person who asks where it came from.
        wanted: the specification that came with the reading, same unit, if any.
        time: when, if known.
    """

    measured: Measured
    regime: Regime
    value: float
    uncertainty: float
    source: str
    wanted: float | None = None
    time: datetime | None = None

    def interval(self, coverage_factor: float = 2.0) -> tuple[float, float]:
        """Value minus and plus `coverage_factor` standard uncertainties (2 is about 95 % for a normal error)."""
        half = coverage_factor * self.uncertainty
        return self.value - half, self.value + half
