"""Numbers as a person reads them: shop units, and no more digits than the doubt allows."""

from __future__ import annotations

from math import floor, inf, isfinite, log10

from dwellwright.catalogue.steps import Judge
from dwellwright.evidence.observation import Measured, Observation
from dwellwright.procedure.figure import Figure
from dwellwright.units import dwell_degrees, from_si, step_from_si

SHOP_UNITS = {
    Measured.DUTY: "deg", Measured.LIMIT_CYCLE_PERIOD: "s", Measured.LIMIT_CYCLE_AMPLITUDE: "deg",
    Measured.CLOSED_LOOP_SHARE: "%", Measured.SHARE_AT_RICH_LIMIT: "%", Measured.SHARE_AT_LEAN_LIMIT: "%",
    Measured.FIRST_CLOSED_LOOP: "s", Measured.LOOP_DELAY: "s", Measured.PULSE_RATE: "Hz",
    Measured.SENSOR_MEAN: "mV", Measured.SENSOR_HIGH: "mV", Measured.SENSOR_LOW: "mV",
    Measured.SENSOR_RICH_SHARE: "%", Measured.SENSOR_CROSSING_RATE: "Hz",
    Measured.LEAN_TO_RICH_TIME: "ms", Measured.RICH_TO_LEAN_TIME: "ms",
    Measured.SENSOR_FORCED_RICH: "mV", Measured.SENSOR_FORCED_LEAN: "mV",
    Measured.ENGINE_SPEED: "rpm", Measured.MANIFOLD_PRESSURE: "kPa", Measured.BAROMETER: "kPa",
    Measured.IDLE_ROUGHNESS: "1",
    Measured.IDLE_VACUUM: "kPa", Measured.THROTTLE_VOLTAGE: "V", Measured.COOLANT_TEMPERATURE: "degC",
    Measured.COOLANT_THERMOMETER: "degC", Measured.CO: "%", Measured.CO2: "%", Measured.O2: "%", Measured.HC: "ppm",
    Measured.GAS_LAMBDA: "1", Measured.LEAN_STOP: "thou", Measured.RICH_STOP: "thou", Measured.ROD_TRAVEL: "thou",
    Measured.IDLE_NEEDLE: "turns", Measured.IDLE_BLEED: "turns", Measured.FLOAT_LEVEL: "mm",
    Measured.FLOAT_LEVEL_RUNNING: "mm", Measured.THROTTLE_SENSOR_CLOSED: "V", Measured.FUEL_PRESSURE: "kPa",
    Measured.SOLENOID_RESISTANCE: "ohm", Measured.ETHANOL: "%", Measured.PURGE_VACUUM: "kPa",
    Measured.RESPONSE_ENRICHMENT: "deg",
    Measured.RESPONSE_INDUCED_LEAK: "deg",
    Measured.RESPONSE_SOLENOID_UNPLUGGED: "rpm",
    Measured.RESPONSE_DRIVER_LEAD_GROUNDED: "rpm",
    Measured.RESPONSE_SOLENOID_GROUNDED_SENSOR: "mV",
    Measured.RESPONSE_SENSOR_LEAD_GROUNDED: "deg",
    Measured.RESPONSE_SENSOR_LEAD_FED: "deg",
    Measured.RESPONSE_PURGE_HOSE_PINCHED: "deg",
    Measured.AIR_LEAK_SEARCH: "mm2",
    Measured.VENTILATION_PINCH: "mm2",
    Measured.EXHAUST_LEAK_SEARCH: "%",
    Measured.INJECTED_AIR_TEST: "%",
    Measured.CYLINDER_BALANCE: "%",
    Measured.SENSOR_WARMTH: "delta_degC",
    Measured.POWER_PISTON_VACUUM: "kPa",
    Measured.SOLENOID_MOTION: "1",
    Measured.IDLE_CHANNEL_PROBE: "%",
    Measured.MAIN_BLEED_LOOK: "%",
    Measured.JET_MEASURED: "%",
    Measured.SEAT_LEAK_TEST: "1",
    Measured.IDLE_BLEED_LOOK: "%",
    Measured.LAMBDA_ENERGIZED: "1",
    Measured.LAMBDA_RELEASED: "1",
}  # fmt: skip
"""Unit in which each reading is printed when the sheet names none."""

_SIGNS = {
    "deg": "°",
    "degC": " °C",
    "degF": " °F",
    "%": " %",
    "vol_pct": " %",
    "ohm": " Ω",
    "1": "",
    "cc": " cc",
}
DUTIES = (
    Measured.DUTY, Measured.LIMIT_CYCLE_AMPLITUDE,
    Measured.RESPONSE_ENRICHMENT,
    Measured.RESPONSE_INDUCED_LEAK,
    Measured.RESPONSE_SENSOR_LEAD_GROUNDED,
    Measured.RESPONSE_SENSOR_LEAD_FED,
    Measured.RESPONSE_PURGE_HOSE_PINCHED,
)  # fmt: skip


def unit_sign(unit: str) -> str:
    """A unit as printed behind a number, its space included."""
    return _SIGNS.get(unit, f" {unit}")


def decimals(doubt: float) -> int:
    """Decimals that show a doubt with one digit, or two if it begins with 1 or 2 (JCGM 100 7.2.6).

    >>> decimals(0.034), decimals(0.12), decimals(41.0)
    (2, 2, 0)
    """
    if not doubt > 0 or not isfinite(doubt):
        return 3
    exponent = floor(log10(doubt))
    leading = doubt / 10.0**exponent
    return max(0, (1 if leading < 2.95 else 0) - exponent)


def number(value: float, places: int) -> str:
    """A number with so many decimals, a true minus sign, and no negative zero."""
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def in_unit(value: float, unit: str, *, duty: bool = False) -> float:
    """An SI value (or a duty, as dwell on the six-cylinder scale) in a shop unit."""
    return dwell_degrees(value) if duty and unit == "deg" else from_si(value, unit)


def step_in_unit(value: float, unit: str, *, duty: bool = False) -> float:
    """A difference or doubt in a shop unit."""
    return dwell_degrees(value) if duty and unit == "deg" else step_from_si(value, unit)


def reading_unit(reading: Observation, figure: Figure | None = None) -> str:
    """Unit a reading is printed in: the sheet's where it names one."""
    return figure.unit if figure is not None and figure.unit else SHOP_UNITS[reading.measured]


def reading_text(reading: Observation, unit: str) -> str:
    """A reading with its unit."""
    duty = reading.measured in DUTIES
    places = decimals(step_in_unit(reading.uncertainty, unit, duty=duty))
    return number(in_unit(reading.value, unit, duty=duty), places) + unit_sign(unit)


def interval_text(reading: Observation, unit: str) -> str:
    """The interval of a reading, about 95 %, with its unit; a share or a duty is not shown beyond its ends."""
    duty = reading.measured in DUTIES
    low, high = reading.interval()
    if duty or (unit == "%" and reading.measured in SHARES):
        low, high = max(low, 0.0), min(high, 1.0)
    places = decimals(step_in_unit(reading.uncertainty, unit, duty=duty))
    ends = [number(in_unit(one, unit, duty=duty), places) for one in (low, high)]
    return f"{ends[0]} to {ends[1]}{unit_sign(unit)}"


SHARES = (
    Measured.CLOSED_LOOP_SHARE,
    Measured.SHARE_AT_RICH_LIMIT,
    Measured.SHARE_AT_LEAN_LIMIT,
    Measured.SENSOR_RICH_SHARE,
    Measured.ETHANOL,
)


def figure_text(figure: Figure, *, duty: bool = False, unit: str = "") -> str:
    """What is asked for, as printed on the sheet: `170 ± 4 thou`, `at least 10°`."""
    unit = figure.unit or unit or "1"
    value = in_unit(figure.value, unit, duty=duty)
    sign = unit_sign(unit)
    if figure.judge is not Judge.WITHIN:
        bound = figure.limits[0] if figure.limits[1] == inf else figure.limits[1]
        word = "at least" if figure.judge is Judge.AT_LEAST else "at most"
        return f"{word} {in_unit(bound, unit, duty=duty):.6g}{sign}"
    if not figure.tolerance:
        return f"{value:.6g}{sign}"
    return f"{value:.6g} ± {step_in_unit(figure.tolerance, unit, duty=duty):.6g}{sign}"
