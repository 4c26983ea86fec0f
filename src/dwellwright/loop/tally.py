"""Streaming statistics of the kernel: what a batch keeps instead of traces, so its memory does not grow with time."""

from __future__ import annotations

from dwellwright.loop import rows as r
from dwellwright.loop.columns import Statistic
from dwellwright.loop.extremes import larger, smaller
from dwellwright.loop.stages import BIG, Floats, stage

LIMIT_MARGIN = 1e-9
"""A duty this close to a limit is at it. [-]"""

DUTY_MEAN, DUTY_LEAST, DUTY_GREATEST = (
    int(Statistic.DUTY_MEAN),
    int(Statistic.DUTY_LEAST),
    int(Statistic.DUTY_GREATEST),
)
DUTY_AMPLITUDE, PERIOD, SWITCHES = (
    int(Statistic.DUTY_AMPLITUDE),
    int(Statistic.PERIOD),
    int(Statistic.SWITCHES),
)
RICH_SHARE, VOLTAGE_MEAN = int(Statistic.RICH_SHARE), int(Statistic.VOLTAGE_MEAN)
VOLTAGE_LEAST, VOLTAGE_GREATEST = int(Statistic.VOLTAGE_LEAST), int(Statistic.VOLTAGE_GREATEST)
LAMBDA_MEAN = int(Statistic.LAMBDA_MEAN)
LAMBDA_LEAST, LAMBDA_GREATEST = int(Statistic.SENSOR_LAMBDA_LEAST), int(Statistic.SENSOR_LAMBDA_GREATEST)
AT_RICH, AT_LEAN, CLOSED = (
    int(Statistic.SHARE_AT_RICH_LIMIT),
    int(Statistic.SHARE_AT_LEAN_LIMIT),
    int(Statistic.CLOSED_SHARE),
)
HELD_GAIN, METERED, BURNT = int(Statistic.HELD_GAIN), int(Statistic.FUEL_METERED), int(Statistic.FUEL_BURNT)
DURATION = int(Statistic.DURATION)


@stage
def clear(w: Floats, lanes: int) -> None:
    """Begin a segment."""
    for row in range(r.S_DUTY, r.S_HELD):
        for i in range(lanes):
            w[row * lanes + i] = 0.0
    for i in range(lanes):
        w[r.S_LEAST * lanes + i] = BIG
        w[r.S_GREATEST * lanes + i] = -BIG
        w[r.S_VOLTS_LEAST * lanes + i] = BIG
        w[r.S_VOLTS_GREATEST * lanes + i] = -BIG
        w[r.S_EXCESS_LEAST * lanes + i] = BIG
        w[r.S_EXCESS_GREATEST * lanes + i] = -BIG
        w[r.S_HELD * lanes + i] = w[r.FILM * lanes + i] + w[r.WELL * lanes + i]


@stage
def add(w: Floats, lanes: int) -> None:
    """Sums and extremes of one step."""
    for i in range(lanes):
        duty, volts, mixed = w[r.DUTY * lanes + i], w[r.VOLTS * lanes + i], w[r.MIXED * lanes + i]
        w[r.S_DUTY * lanes + i] += duty
        w[r.S_LEAST * lanes + i] = smaller(w[r.S_LEAST * lanes + i], duty)
        w[r.S_GREATEST * lanes + i] = larger(w[r.S_GREATEST * lanes + i], duty)
        w[r.S_RICH * lanes + i] += w[r.RICH * lanes + i]
        w[r.S_VOLTS * lanes + i] += volts
        w[r.S_VOLTS_LEAST * lanes + i] = smaller(w[r.S_VOLTS_LEAST * lanes + i], volts)
        w[r.S_VOLTS_GREATEST * lanes + i] = larger(w[r.S_VOLTS_GREATEST * lanes + i], volts)
        w[r.S_BURNT * lanes + i] += w[r.BURNT * lanes + i]
        w[r.S_FUEL * lanes + i] += w[r.FUEL * lanes + i]
        w[r.S_EXCESS_LEAST * lanes + i] = smaller(w[r.S_EXCESS_LEAST * lanes + i], mixed)
        w[r.S_EXCESS_GREATEST * lanes + i] = larger(w[r.S_EXCESS_GREATEST * lanes + i], mixed)
        w[r.S_LOW * lanes + i] += 1.0 if duty <= w[r.LOW * lanes + i] + LIMIT_MARGIN else 0.0
        w[r.S_HIGH * lanes + i] += 1.0 if duty >= w[r.HIGH * lanes + i] - LIMIT_MARGIN else 0.0


@stage
def crossings(w: Floats, lanes: int, threshold: float) -> float:
    """How many cars' sensors crossed the threshold in this step: in most steps none, and counting is skipped."""
    number = 0.0
    for i in range(lanes):
        was_rich = 1.0 if w[r.BEFORE_VOLTS * lanes + i] >= threshold else 0.0
        is_rich = 1.0 if w[r.VOLTS * lanes + i] >= threshold else 0.0
        number += abs(is_rich - was_rich)
    return number


@stage
def count(w: Floats, lanes: int, step_number: float, threshold: float) -> None:
    """Switches of the sensor in one step, where inside the step, and the duty there."""
    for i in range(lanes):
        was_rich = 1.0 if w[r.BEFORE_VOLTS * lanes + i] >= threshold else 0.0
        is_rich = 1.0 if w[r.VOLTS * lanes + i] >= threshold else 0.0
        rise, fall = is_rich * (1.0 - was_rich), was_rich * (1.0 - is_rich)
        moment = step_number + 1.0 - w[r.RICH * lanes + i]
        rises, last, integral = w[r.S_RISES * lanes + i], w[r.S_LAST * lanes + i], w[r.INTEGRAL * lanes + i]
        fresh = 1.0 if rises < 0.5 else 0.0
        w[r.S_RISES * lanes + i] = rises + rise
        w[r.S_FALLS * lanes + i] += fall
        w[r.S_FIRST * lanes + i] += rise * fresh * moment
        w[r.S_LAST * lanes + i] = last + rise * (moment - last)
        w[r.S_AT_RISE * lanes + i] += rise * integral
        w[r.S_AT_FALL * lanes + i] += fall * integral


@stage
def pulse_sums(w: Floats, lanes: int, pulse_steps: int) -> None:
    """Sums of what changes only from pulse to pulse."""
    for i in range(lanes):
        w[r.S_CLOSED * lanes + i] += w[r.CLOSED * lanes + i] * pulse_steps
        w[r.S_AIR * lanes + i] += w[r.AIR * lanes + i] * pulse_steps


@stage
def write(w: Floats, lanes: int, i: int, steps: int, step: float, out: Floats) -> None:
    """One car's statistics of the segment that ends here."""
    rises, falls = w[r.S_RISES * lanes + i], w[r.S_FALLS * lanes + i]
    swing = w[r.S_AT_FALL * lanes + i] / max(falls, 1.0) - w[r.S_AT_RISE * lanes + i] / max(rises, 1.0)
    out[DUTY_MEAN] = w[r.S_DUTY * lanes + i] / steps
    out[DUTY_LEAST] = w[r.S_LEAST * lanes + i]
    out[DUTY_GREATEST] = w[r.S_GREATEST * lanes + i]
    out[DUTY_AMPLITUDE] = 0.5 * swing + w[r.JUMP_NOW * lanes + i] if rises * falls > 0.0 else 0.0
    out[SWITCHES] = rises
    span = w[r.S_LAST * lanes + i] - w[r.S_FIRST * lanes + i]
    out[PERIOD] = span * step / (rises - 1.0) if rises > 1.0 else 0.0
    out[RICH_SHARE] = w[r.S_RICH * lanes + i] / steps
    out[VOLTAGE_MEAN] = w[r.S_VOLTS * lanes + i] / steps
    out[VOLTAGE_LEAST] = w[r.S_VOLTS_LEAST * lanes + i]
    out[VOLTAGE_GREATEST] = w[r.S_VOLTS_GREATEST * lanes + i]
    out[LAMBDA_MEAN] = w[r.S_AIR * lanes + i] / w[r.S_BURNT * lanes + i]
    out[LAMBDA_LEAST] = 1.0 / w[r.S_EXCESS_GREATEST * lanes + i]
    out[LAMBDA_GREATEST] = 1.0 / w[r.S_EXCESS_LEAST * lanes + i]
    out[AT_RICH] = w[r.S_LOW * lanes + i] / steps
    out[AT_LEAN] = w[r.S_HIGH * lanes + i] / steps
    out[CLOSED] = w[r.S_CLOSED * lanes + i] / steps
    out[HELD_GAIN] = w[r.FILM * lanes + i] + w[r.WELL * lanes + i] - w[r.S_HELD * lanes + i]
    out[METERED] = w[r.S_FUEL * lanes + i] * step
    out[BURNT] = w[r.S_BURNT * lanes + i] * step
    out[DURATION] = steps * step
