"""Preparation of a run: a car along a drive as kernel columns, the pulses' timetable, and the shared numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dwellwright.catalogue.controllers import Controller
from dwellwright.loop.columns import Parameter as Param
from dwellwright.loop.columns import Setting
from dwellwright.loop.controller import CLOSED, drive_signals, forced_duty, ramps, waiting_duty
from dwellwright.loop.drive import Drive
from dwellwright.loop.kernel import Integers
from dwellwright.loop.plant import Plant, curve_table
from dwellwright.loop.stages import BIG, Floats
from dwellwright.physics.transport import transport_delay
from dwellwright.physics.zirconia import element_resistance

DEFAULT_STEP = 1e-3
"""Time step unless told otherwise; halving it moves means by less than 1e-4 (tests). [s]"""

READY_SHARE = 0.5
"""A sensor that at the start passes more than this share of its voltage to the controller is ready; assumed. [-]"""


@dataclass(frozen=True, eq=False)
class Schedule:
    """The pulses of a run.

    Args:
        nodes: point of the drive before each pulse's middle.
        drive: per pulse the weight of the next point, the open-loop lean duty or `CLOSED`, the waiting lean duty.
        segment_ends: pulse after the last one of each segment, rising to the number of pulses.
        settings: shared numbers, `columns.Setting`.
        pulse_steps: steps in a pulse.
        pulse_period: [s]
    """

    nodes: Integers
    drive: Floats
    segment_ends: Integers
    settings: Floats
    pulse_steps: int
    pulse_period: float

    @property
    def duration(self) -> float:
        """Of the whole run. [s]"""
        return float(self.nodes.size * self.pulse_period)


def lean_duty(controller: Controller, energized: Floats | float) -> Floats:
    """Energized share as a share of lean command, and back: the same, or one less it. [-]"""
    values = np.asarray(energized, dtype=np.float64)
    return values if controller.energized_is_lean else 1.0 - values


def pulse_steps(controller: Controller, step: float) -> int:
    """Steps in a pulse.

    Raises:
        ValueError: the step does not divide the pulse period.
    """
    count = round(1.0 / (controller.pulse_rate * step)) if step > 0 else 0
    if count < 1 or abs(count * step * controller.pulse_rate - 1.0) > 1e-9:
        raise ValueError(f"step must divide the pulse period {1 / controller.pulse_rate} s, got {step} s")
    return count


def shared_settings(controller: Controller, step: float, *, ready: bool, averaged: bool) -> Floats:
    """The numbers that all cars of a run share, as the kernel wants them."""
    values = {
        Setting.STEP: step,
        Setting.THRESHOLD: controller.threshold_voltage,
        Setting.INPUT_BIAS: controller.input_bias_voltage,
        Setting.WINDOW_LOW: controller.silent_low,
        Setting.WINDOW_HIGH: controller.silent_high,
        Setting.SILENT_TIME: controller.silent_time,
        Setting.SILENT_AT_START: 0.0 if ready else BIG,
        Setting.AVERAGED: float(averaged),
    }
    return np.array([values[setting] for setting in Setting])


def segment_pulses(ends: tuple[float, ...], pulses: int, period: float) -> Integers:
    """Pulse after the last one of each segment.

    Raises:
        ValueError: ends that do not rise within the run.
    """
    marks = np.unique(np.append(np.rint(np.asarray(ends) / period).astype(np.int64), pulses))
    if marks[0] <= 0 or marks[-1] != pulses or marks.size < len(ends) or list(ends) != sorted(set(ends)):
        raise ValueError(
            f"segments must end at rising times within the {pulses * period} s of the run, got {ends}"
        )
    return marks


def drive_schedule(
    drive: Drive,
    controller: Controller,
    *,
    segments: tuple[float, ...] = (),
    step: float = DEFAULT_STEP,
    ready: bool = True,
    averaged: bool = False,
) -> Schedule:
    """Timetable of a drive.

    Args:
        drive: the drive; of its mixture columns nothing is used here.
        controller: for its pulse rate, open-loop rules and shared numbers.
        segments: times from the drive's start at which a segment of the statistics ends; the last is the drive's end.
        step: of time. [s]
        ready: the sensor counts as ready at the start.
        averaged: replace pulses by their mean.

    Raises:
        ValueError: a drive shorter than one pulse, a step that does not divide the pulse, or segments out of order.
    """
    period, steps = 1.0 / controller.pulse_rate, pulse_steps(controller, step)
    pulses = int(drive.duration / period + 1e-9)
    if pulses < 1:
        raise ValueError(f"drive must last at least one pulse of {period} s, got {drive.duration} s")
    starts = drive.time[0] + period * np.arange(pulses)
    middles = starts + 0.5 * period
    nodes = np.clip(np.searchsorted(drive.time, middles, side="right") - 1, 0, drive.time.size - 2)
    weights = (middles - drive.time[nodes]) / (drive.time[nodes + 1] - drive.time[nodes])
    signals = drive_signals(drive, starts)
    forced = forced_duty(controller, signals)
    forced = np.where(forced < 0.0, CLOSED, lean_duty(controller, forced))
    waiting = lean_duty(controller, waiting_duty(controller, signals))
    settings = shared_settings(controller, step, ready=ready, averaged=averaged)
    ends = segment_pulses(segments, pulses, period)
    return Schedule(nodes, np.column_stack((weights, forced, waiting)), ends, settings, steps, period)


def _transport(plant: Plant, drive: Drive) -> tuple[Floats, Floats]:
    """Delay and mixing time at each point. [s]"""
    way = plant.passage
    shared = (way.manifold_temperature, way.exhaust_volume, way.exhaust_pressure, way.exhaust_temperature)
    whole = np.array(
        [
            transport_delay(speed, flow, way.manifold_volume, pressure, *shared)
            for speed, flow, pressure in zip(
                drive.engine_speed.tolist(),
                drive.air_flow.tolist(),
                drive.manifold_pressure.tolist(),
                strict=True,
            )
        ]
    )
    cycle = np.divide(1.5, drive.engine_speed, out=np.full_like(whole, np.inf), where=drive.engine_speed > 0)
    volumes = np.subtract(whole, cycle, out=np.full_like(whole, way.longest_delay), where=np.isfinite(cycle))
    mixing = np.minimum(way.mixing_share * volumes, way.longest_delay)
    delay = np.minimum(np.minimum(whole, 10 * way.longest_delay) - mixing, way.longest_delay)
    return delay, mixing


def _film(plant: Plant, drive: Drive) -> tuple[Floats, Floats]:
    span = [plant.cold_coolant, plant.warm_coolant]
    share = np.interp(
        drive.coolant_temperature, span, [plant.cold_film.wall_share, plant.warm_film.wall_share]
    )
    time = np.interp(
        drive.coolant_temperature, span, [plant.cold_film.time_constant, plant.warm_film.time_constant]
    )
    return share, time


def _sensor_columns(points: Floats, plant: Plant, drive: Drive, controller: Controller) -> None:
    sensor = plant.sensor
    grid, table = curve_table(plant.hydrogen_to_carbon, plant.oxygen_to_carbon, sensor.switch_width)
    first = int(Param.RICH_LEVEL)
    for column in range(table.shape[1]):
        points[:, first + column] = np.interp(drive.sensor_temperature, grid, table[:, column])
    points[:, Param.RICH_LEVEL] += sensor.voltage_bias
    points[:, Param.LEAN_LEVEL] += sensor.voltage_bias
    points[:, Param.SWITCH_WIDTH] = sensor.switch_width
    resistance = np.array(
        [element_resistance(t, sensor.reference_resistance) for t in drive.sensor_temperature.tolist()]
    )
    points[:, Param.SENSOR_WEIGHT] = controller.input_resistance / (controller.input_resistance + resistance)
    points[:, Param.LEAN_TO_RICH_TIME] = sensor.lean_to_rich_time
    points[:, Param.RICH_TO_LEAN_TIME] = sensor.rich_to_lean_time
    points[:, Param.SENSOR_SHIFT] = sensor.excess_shift


def _controller_columns(points: Floats, plant: Plant, drive: Drive, controller: Controller) -> None:
    solenoid, rate = plant.solenoid, controller.pulse_rate
    pull_in = np.array([min(solenoid.pull_in_time(v) * rate, 2.0) for v in drive.battery_voltage.tolist()])
    drop_out = solenoid.drop_out_time * rate
    lean, rich, jump = ramps(controller, drive_signals(drive, drive.time))
    low, high = controller.low_limit, controller.high_limit
    if controller.energized_is_lean:
        points[:, Param.PULL_IN], points[:, Param.DROP_OUT] = pull_in, drop_out
    else:  # lean begins when the valve lets go, and a valve that cannot pull in stays lean
        points[:, Param.PULL_IN], points[:, Param.DROP_OUT] = np.where(pull_in < 1.0, drop_out, -1.0), pull_in
        low, high = 1.0 - high, 1.0 - low
    points[:, Param.LEAN_RAMP], points[:, Param.RICH_RAMP], points[:, Param.JUMP] = lean, rich, jump
    points[:, Param.LOW_LIMIT], points[:, Param.HIGH_LIMIT] = low, high
    points[:, Param.START_DUTY] = lean_duty(controller, controller.start_duty)


def car_points(plant: Plant, drive: Drive, controller: Controller) -> Floats:
    """One car at every point of a drive as kernel columns, shape (points, `len(Parameter)`).

    Raises:
        ValueError: a delay shorter than nothing, which no plant and drive should give.
    """
    points = np.zeros((drive.time.size, len(Param)))
    points[:, Param.EXCESS_RICH] = drive.stoichiometric_ratio * drive.fuel_rich / drive.air_flow
    points[:, Param.EXCESS_LEAN] = drive.stoichiometric_ratio * drive.fuel_lean / drive.air_flow
    points[:, Param.AIR_FLOW] = drive.air_flow
    points[:, Param.DELAY], points[:, Param.MIXING_TIME] = _transport(plant, drive)
    points[:, Param.FILM_SHARE], points[:, Param.FILM_TIME] = _film(plant, drive)
    points[:, Param.WELL_TIME] = plant.well_time
    points[:, Param.FALSE_AIR] = plant.false_air_flow / drive.air_flow
    _sensor_columns(points, plant, drive, controller)
    _controller_columns(points, plant, drive, controller)
    return points


def ready_at_start(points: Floats) -> bool:
    """Whether the sensor is warm enough at the first point to count as ready."""
    return bool(points[0, Param.SENSOR_WEIGHT] > READY_SHARE)


def ring_slots(points: Floats, step: float) -> int:
    """Slots of the delay's ring: the power of two above the longest delay."""
    longest = float(np.max(points[..., Param.DELAY])) / step
    return 1 << int(np.ceil(np.log2(longest + 4.0)))
