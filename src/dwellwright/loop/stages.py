"""The stages of a kernel step: each runs one row of cars through a few laws.

Every stage is a plain loop over the cars of a block with nothing between them, which the compiler turns into vector
instructions. `lanes` is a constant wherever a stage is called.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from dwellwright.loop import rows as r
from dwellwright.loop.columns import Parameter, Setting
from dwellwright.loop.laws import (
    clipped,
    decay,
    effective_position,
    film_step,
    hold,
    lagged,
    share_above,
    switching_voltage,
)

Floats = np.ndarray[Any, np.dtype[np.float64]]

stage = njit(fastmath=True, error_model="numpy", forceinline=True)

_V = {member: r.VALUES + int(member) for member in Parameter}
V_RICH, V_LEAN, V_AIR = _V[Parameter.EXCESS_RICH], _V[Parameter.EXCESS_LEAN], _V[Parameter.AIR_FLOW]
V_DELAY, V_MIXING, V_FALSE = _V[Parameter.DELAY], _V[Parameter.MIXING_TIME], _V[Parameter.FALSE_AIR]
V_WELL_TIME = _V[Parameter.WELL_TIME]
V_FILM_SHARE, V_FILM_TIME = _V[Parameter.FILM_SHARE], _V[Parameter.FILM_TIME]
V_SHIFT, V_WEIGHT, V_WIDTH = (
    _V[Parameter.SENSOR_SHIFT],
    _V[Parameter.SENSOR_WEIGHT],
    _V[Parameter.SWITCH_WIDTH],
)
V_RICH_LEVEL, V_RICH_RISE = _V[Parameter.RICH_LEVEL], _V[Parameter.RICH_RISE]
V_LEAN_LEVEL, V_LEAN_RISE = _V[Parameter.LEAN_LEVEL], _V[Parameter.LEAN_RISE]
V_RICH_OFFSET, V_LEAN_OFFSET = _V[Parameter.RICH_OFFSET], _V[Parameter.LEAN_OFFSET]
V_UP, V_DOWN = _V[Parameter.LEAN_TO_RICH_TIME], _V[Parameter.RICH_TO_LEAN_TIME]
V_PULL, V_DROP = _V[Parameter.PULL_IN], _V[Parameter.DROP_OUT]
V_LEAN_RAMP, V_RICH_RAMP, V_JUMP = _V[Parameter.LEAN_RAMP], _V[Parameter.RICH_RAMP], _V[Parameter.JUMP]
V_LOW, V_HIGH, V_START = _V[Parameter.LOW_LIMIT], _V[Parameter.HIGH_LIMIT], _V[Parameter.START_DUTY]
PARAMETERS = len(Parameter)

STEP, THRESHOLD, INPUT_BIAS = int(Setting.STEP), int(Setting.THRESHOLD), int(Setting.INPUT_BIAS)
WINDOW_LOW, WINDOW_HIGH = int(Setting.WINDOW_LOW), int(Setting.WINDOW_HIGH)
SILENT_TIME, SILENT_AT_START = int(Setting.SILENT_TIME), int(Setting.SILENT_AT_START)
BIG = 1e30


@stage
def set_values(w: Floats, lanes: int, points: Floats, first: int, node: int, weight: float) -> None:
    """Parameters of each car between two nodes; lanes beyond the last car repeat it."""
    last = points.shape[0] - 1
    after = min(node + 1, points.shape[1] - 1)
    for i in range(lanes):
        car = min(first + i, last)
        for column in range(PARAMETERS):
            value = points[car, node, column]
            w[(r.VALUES + column) * lanes + i] = value + weight * (points[car, after, column] - value)


@stage
def set_mixture(w: Floats, lanes: int, step: float) -> None:
    """Coefficients of fuel, film and mixing from the parameters."""
    for i in range(lanes):
        air = w[V_AIR * lanes + i]
        w[r.AIR * lanes + i] = air
        w[r.FUEL_RICH * lanes + i] = air * w[V_RICH * lanes + i]
        w[r.FUEL_SPAN * lanes + i] = air * (w[V_LEAN * lanes + i] - w[V_RICH * lanes + i])
        time = max(w[V_FILM_TIME * lanes + i], 1e-9)
        fill = 1.0 - decay(step, time)
        w[r.STORE * lanes + i] = w[V_FILM_SHARE * lanes + i] * time
        w[r.FILL * lanes + i] = fill
        w[r.FILL_RATE * lanes + i] = fill / step
        well = max(w[V_WELL_TIME * lanes + i], 1e-9)
        drained = 1.0 - decay(step, well)
        w[r.WELL_STORE * lanes + i] = well
        w[r.WELL_FILL * lanes + i] = drained
        w[r.WELL_FILL_RATE * lanes + i] = drained / step
        w[r.TO_EXCESS * lanes + i] = 1.0 / (air * (1.0 + w[V_FALSE * lanes + i]))
        w[r.MIX * lanes + i] = 1.0 - decay(step, w[V_MIXING * lanes + i])


@stage
def set_sensor(w: Floats, lanes: int, step: float, input_bias: float) -> None:
    """Coefficients of the sensor and its input: a cold sensor's own voltage is weighted down against the bias."""
    for i in range(lanes):
        weight = w[V_WEIGHT * lanes + i]
        w[r.SHIFT * lanes + i] = w[V_SHIFT * lanes + i] - 1.0
        floating = (1.0 - weight) * input_bias
        w[r.RICH_LEVEL * lanes + i] = weight * w[V_RICH_LEVEL * lanes + i] + floating
        w[r.LEAN_LEVEL * lanes + i] = weight * w[V_LEAN_LEVEL * lanes + i] + floating
        w[r.RICH_RISE * lanes + i] = weight * w[V_RICH_RISE * lanes + i]
        w[r.LEAN_RISE * lanes + i] = weight * w[V_LEAN_RISE * lanes + i]
        w[r.RICH_OFFSET * lanes + i] = w[V_RICH_OFFSET * lanes + i]
        w[r.LEAN_OFFSET * lanes + i] = w[V_LEAN_OFFSET * lanes + i]
        w[r.WIDTH * lanes + i] = w[V_WIDTH * lanes + i]
        w[r.UP_DECAY * lanes + i] = decay(step, w[V_UP * lanes + i])
        w[r.UP_HOLD * lanes + i] = hold(step, w[V_UP * lanes + i])
        w[r.DOWN_DECAY * lanes + i] = decay(step, w[V_DOWN * lanes + i])
        w[r.DOWN_HOLD * lanes + i] = hold(step, w[V_DOWN * lanes + i])


@stage
def set_controller(w: Floats, lanes: int, step: float) -> None:
    """Coefficients of solenoid, ramps, limits and transport."""
    for i in range(lanes):
        w[r.PULL * lanes + i] = w[V_PULL * lanes + i]
        w[r.DROP * lanes + i] = w[V_DROP * lanes + i]
        w[r.LEAN_STEP_RATE * lanes + i] = w[V_LEAN_RAMP * lanes + i] * step
        w[r.RICH_STEP_RATE * lanes + i] = w[V_RICH_RAMP * lanes + i] * step
        w[r.HALF_JUMP * lanes + i] = w[V_JUMP * lanes + i]
        w[r.LOW * lanes + i] = w[V_LOW * lanes + i]
        w[r.HIGH * lanes + i] = w[V_HIGH * lanes + i]
        delay = max(w[V_DELAY * lanes + i] / step, 1.0)
        whole = float(int(delay))
        w[r.DELAY_WHOLE * lanes + i] = whole
        w[r.DELAY_PART * lanes + i] = delay - whole


@stage
def curve_voltage(w: Floats, lanes: int, i: int, excess: float) -> float:
    """Voltage at the controller's input that the gas round a car's sensor would settle to. [V]"""
    return switching_voltage(
        excess + w[r.SHIFT * lanes + i],
        w[r.RICH_LEVEL * lanes + i],
        w[r.RICH_RISE * lanes + i],
        w[r.RICH_OFFSET * lanes + i],
        w[r.LEAN_LEVEL * lanes + i],
        w[r.LEAN_RISE * lanes + i],
        w[r.LEAN_OFFSET * lanes + i],
        w[r.WIDTH * lanes + i],
    )


@stage
def start(w: Floats, ring: Floats, lanes: int, settings: Floats) -> None:
    """State at time zero: everything settled at the starting duty, a sensor that has been silent for ever."""
    for i in range(lanes):
        duty = w[V_START * lanes + i]
        place = effective_position(duty, w[r.PULL * lanes + i], w[r.DROP * lanes + i])
        fuel = w[r.FUEL_RICH * lanes + i] + place * w[r.FUEL_SPAN * lanes + i]
        excess = fuel * w[r.TO_EXCESS * lanes + i]
        volts = curve_voltage(w, lanes, i, excess)
        w[r.FILM * lanes + i] = w[r.STORE * lanes + i] * fuel
        w[r.WELL * lanes + i] = w[r.WELL_STORE * lanes + i] * fuel
        w[r.MIXED * lanes + i] = excess
        w[r.CURVE * lanes + i] = volts
        w[r.VOLTS * lanes + i] = volts
        w[r.INTEGRAL * lanes + i] = duty
        w[r.DUTY * lanes + i] = duty
        w[r.SILENT * lanes + i] = settings[SILENT_AT_START]
        for slot in range(ring.size // lanes):
            ring[slot * lanes + i] = excess


@stage
def latch(w: Floats, lanes: int, settings: Floats, pulse_steps: int, forced: float, waiting: float) -> None:
    """What the controller decides once per pulse: closed or open loop, and how long the next pulse is.

    `forced` is an open-loop duty of the present mode, negative where the loop may close; `waiting` is the duty while
    the sensor is not ready. Open loop squeezes both limits onto one duty, so the step needs no branch.
    """
    pulse_time = pulse_steps * settings[STEP]
    for i in range(lanes):
        volts = w[r.VOLTS * lanes + i]
        dumb = settings[WINDOW_LOW] < volts < settings[WINDOW_HIGH]
        silent = w[r.SILENT * lanes + i] + pulse_time if dumb else 0.0
        w[r.SILENT * lanes + i] = silent
        closed = silent < settings[SILENT_TIME] and forced < 0.0
        fixed = forced if forced >= 0.0 else waiting
        low = w[r.LOW * lanes + i] if closed else fixed
        high = w[r.HIGH * lanes + i] if closed else fixed
        w[r.LOW_NOW * lanes + i] = low
        w[r.HIGH_NOW * lanes + i] = high
        w[r.JUMP_NOW * lanes + i] = w[r.HALF_JUMP * lanes + i] if closed else 0.0
        w[r.CLOSED * lanes + i] = 1.0 if closed else 0.0
        w[r.INTEGRAL * lanes + i] = clipped(w[r.INTEGRAL * lanes + i], low, high)
        duty = clipped(w[r.DUTY * lanes + i], low, high)
        place = effective_position(duty, w[r.PULL * lanes + i], w[r.DROP * lanes + i])
        w[r.ON_STEPS * lanes + i] = place * pulse_steps


@stage
def arrive(w: Floats, ring: Floats, lanes: int, now: int, mask: int) -> None:
    """Gas that reaches the sensor in this step, read between two slots of the ring."""
    for i in range(lanes):
        slot = now - int(w[r.DELAY_WHOLE * lanes + i])
        near = ring[np.uint32(slot & mask) * lanes + i]
        far = ring[np.uint32((slot - 1) & mask) * lanes + i]
        w[r.ARRIVED * lanes + i] = near + w[r.DELAY_PART * lanes + i] * (far - near)


@stage
def sense(w: Floats, lanes: int, threshold: float) -> None:
    """Mixing, sensor and controller over one step."""
    for i in range(lanes):
        mixed = w[r.MIXED * lanes + i]
        mixed += w[r.MIX * lanes + i] * (w[r.ARRIVED * lanes + i] - mixed)
        w[r.MIXED * lanes + i] = mixed
        before, volts = w[r.CURVE * lanes + i], w[r.VOLTS * lanes + i]
        after = curve_voltage(w, lanes, i, mixed)
        up = before + after > 2.0 * volts
        up_left, down_left = w[r.UP_DECAY * lanes + i], w[r.DOWN_DECAY * lanes + i]
        up_hold, down_hold = w[r.UP_HOLD * lanes + i], w[r.DOWN_HOLD * lanes + i]
        left = up_left if up else down_left
        slope = up_hold if up else down_hold
        new = lagged(volts, before, after, left, slope)
        rich = share_above(volts, new, threshold)
        w[r.CURVE * lanes + i] = after
        w[r.BEFORE_VOLTS * lanes + i] = volts
        w[r.VOLTS * lanes + i] = new
        w[r.RICH * lanes + i] = rich
        low, high, integral = w[r.LOW_NOW * lanes + i], w[r.HIGH_NOW * lanes + i], w[r.INTEGRAL * lanes + i]
        change = rich * w[r.LEAN_STEP_RATE * lanes + i] - (1.0 - rich) * w[r.RICH_STEP_RATE * lanes + i]
        moved = clipped(integral + change, low, high)
        jump = w[r.JUMP_NOW * lanes + i] * (2.0 * rich - 1.0)
        w[r.INTEGRAL * lanes + i] = moved
        w[r.DUTY * lanes + i] = clipped(0.5 * (integral + moved) + jump, low, high)


@stage
def _meter(w: Floats, lanes: int, i: int, position: float) -> None:
    fuel = w[r.FUEL_RICH * lanes + i] + position * w[r.FUEL_SPAN * lanes + i]
    well, given = film_step(
        w[r.WELL * lanes + i],
        fuel,
        w[r.WELL_STORE * lanes + i],
        w[r.WELL_FILL * lanes + i],
        w[r.WELL_FILL_RATE * lanes + i],
    )
    film, burnt = film_step(
        w[r.FILM * lanes + i],
        given,
        w[r.STORE * lanes + i],
        w[r.FILL * lanes + i],
        w[r.FILL_RATE * lanes + i],
    )
    w[r.POSITION * lanes + i] = position
    w[r.WELL * lanes + i] = well
    w[r.FILM * lanes + i] = film
    w[r.FUEL * lanes + i] = fuel
    w[r.BURNT * lanes + i] = burnt
    w[r.LEAVING * lanes + i] = burnt * w[r.TO_EXCESS * lanes + i]


@stage
def meter_mean(w: Floats, lanes: int) -> None:
    """Fuel metered, kept and given back by the wall, and burnt; the pulses replaced by their mean."""
    for i in range(lanes):
        duty, pull_in, drop_out = w[r.DUTY * lanes + i], w[r.PULL * lanes + i], w[r.DROP * lanes + i]
        _meter(w, lanes, i, effective_position(duty, pull_in, drop_out))


@stage
def meter_pulse(w: Floats, lanes: int, step_of_pulse: float) -> None:
    """The same in a step of a real pulse: lean stop first, rich stop after."""
    for i in range(lanes):
        _meter(w, lanes, i, clipped(w[r.ON_STEPS * lanes + i] - step_of_pulse, 0.0, 1.0))


@stage
def leave(w: Floats, ring: Floats, lanes: int, now: int, mask: int) -> None:
    """Gas on its way to the sensor."""
    base = np.uint32(now & mask) * lanes
    for i in range(lanes):
        ring[base + i] = w[r.LEAVING * lanes + i]
