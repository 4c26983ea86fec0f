"""One car through a drive: the closed loop in time, with a log and statistics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dwellwright.catalogue.controller_rules import Signal
from dwellwright.catalogue.controllers import Controller
from dwellwright.loop.columns import Statistic, Trace
from dwellwright.loop.controller import LampEvent, drive_signals, lamp_events
from dwellwright.loop.drive import Drive
from dwellwright.loop.kernel import run_single
from dwellwright.loop.plant import Plant
from dwellwright.loop.schedule import (
    DEFAULT_STEP,
    Schedule,
    car_points,
    drive_schedule,
    lean_duty,
    ready_at_start,
    ring_slots,
)
from dwellwright.loop.stages import Floats


@dataclass(frozen=True)
class LoopStatistics:
    """What one segment of a run came to. Duty is the energized share.

    Args:
        duty_mean: time mean of the commanded duty. [-]
        duty_least: [-]
        duty_greatest: [-]
        duty_amplitude: half the mean swing between the sensor's switches. [-]
        period: mean time between lean-to-rich switches; 0 with fewer than two. [s]
        switches: number of lean-to-rich switches. [-]
        rich_share: share of the time with the sensor above the threshold. [-]
        voltage_mean: of the sensor at the controller's input. [V]
        voltage_least: [V]
        voltage_greatest: [V]
        air_ratio_mean: lambda of what the engine burnt, air and fuel summed over the segment. [-]
        sensor_air_ratio_least: lambda round the sensor. [-]
        sensor_air_ratio_greatest: lambda round the sensor. [-]
        share_at_rich_limit: share of the time at the limit that enriches. [-]
        share_at_lean_limit: share of the time at the limit that leans. [-]
        closed_share: share of the time in closed loop. [-]
        duration: of the segment. [s]
    """

    duty_mean: float
    duty_least: float
    duty_greatest: float
    duty_amplitude: float
    period: float
    switches: float
    rich_share: float
    voltage_mean: float
    voltage_least: float
    voltage_greatest: float
    air_ratio_mean: float
    sensor_air_ratio_least: float
    sensor_air_ratio_greatest: float
    share_at_rich_limit: float
    share_at_lean_limit: float
    closed_share: float
    duration: float


@dataclass(frozen=True, eq=False)
class LoopTrace:
    """A run's log, one value per row, and its statistics.

    Args:
        time: from the drive's first point on, in the drive's own time. [s]
        duty: energized share commanded. [-]
        position: share of the time since the row before spent at the lean stop. [-]
        sensor_voltage: at the controller's input. [V]
        air_ratio: lambda of what was burnt since the row before: fuel and air summed. [-]
        sensor_air_ratio: lambda of the gas round the sensor. [-]
        closed: 1 in closed loop. [-]
        film: fuel on the manifold wall. [kg]
        statistics: one per segment.
        drive: that was driven.
        controller: that drove it.
    """

    time: Floats
    duty: Floats
    position: Floats
    sensor_voltage: Floats
    air_ratio: Floats
    sensor_air_ratio: Floats
    closed: Floats
    film: Floats
    statistics: tuple[LoopStatistics, ...]
    drive: Drive
    controller: Controller

    def signals(self) -> dict[Signal, Floats]:
        """Everything a lamp rule may look at, at the log's rows."""
        loop = {
            Signal.DUTY: self.duty,
            Signal.SENSOR_VOLTAGE: self.sensor_voltage,
            Signal.CLOSED: self.closed,
        }
        return drive_signals(self.drive, self.time) | loop

    def lamp(self) -> tuple[LampEvent, ...]:
        """Every time the warning lamp would have lit."""
        return lamp_events(self.controller, self.time, self.signals())


def statistics_of(row: Floats, controller: Controller) -> LoopStatistics:
    """A row of the kernel's statistics, by name and with duty as the energized share."""
    value = {member: float(row[member]) for member in Statistic}
    ends = [value[Statistic.DUTY_LEAST], value[Statistic.DUTY_GREATEST]]
    least, greatest = sorted(float(lean_duty(controller, end)) for end in ends)
    return LoopStatistics(
        duty_mean=float(lean_duty(controller, value[Statistic.DUTY_MEAN])),
        duty_least=least,
        duty_greatest=greatest,
        duty_amplitude=value[Statistic.DUTY_AMPLITUDE],
        period=value[Statistic.PERIOD],
        switches=value[Statistic.SWITCHES],
        rich_share=value[Statistic.RICH_SHARE],
        voltage_mean=value[Statistic.VOLTAGE_MEAN],
        voltage_least=value[Statistic.VOLTAGE_LEAST],
        voltage_greatest=value[Statistic.VOLTAGE_GREATEST],
        air_ratio_mean=value[Statistic.LAMBDA_MEAN],
        sensor_air_ratio_least=value[Statistic.SENSOR_LAMBDA_LEAST],
        sensor_air_ratio_greatest=value[Statistic.SENSOR_LAMBDA_GREATEST],
        share_at_rich_limit=value[Statistic.SHARE_AT_RICH_LIMIT],
        share_at_lean_limit=value[Statistic.SHARE_AT_LEAN_LIMIT],
        closed_share=value[Statistic.CLOSED_SHARE],
        duration=value[Statistic.DURATION],
    )


def run(points: Floats, schedule: Schedule, log_steps: int) -> tuple[Floats, Floats]:
    """Statistics (segments, `len(Statistic)`) and log (rows, `len(Trace)`) of one car."""
    steps = schedule.nodes.size * schedule.pulse_steps
    out = np.zeros((1, schedule.segment_ends.size, len(Statistic)))
    log = np.zeros((steps // log_steps if log_steps else 0, len(Trace)))
    slots = ring_slots(points, float(schedule.settings[0]))
    run_single(
        np.ascontiguousarray(points[None]),
        schedule.drive,
        schedule.nodes,
        schedule.segment_ends,
        schedule.settings,
        schedule.pulse_steps,
        slots,
        out,
        log,
        log_steps,
    )
    return out[0], log


def simulate(
    plant: Plant,
    drive: Drive,
    controller: Controller,
    *,
    segments: tuple[float, ...] = (),
    log_rate: float = 10.0,
    step: float = DEFAULT_STEP,
    averaged: bool = False,
) -> LoopTrace:
    """One car through a drive.

    Args:
        plant: solenoid, film, passage, sensor, false air.
        drive: operating points with the carburetor's two stops at each.
        controller: from the catalogue or a file.
        segments: times from the drive's start at which a segment of the statistics ends; the drive's end is added.
        log_rate: rows per second; 0 keeps no log. [Hz]
        step: of time; must divide the pulse period. [s]
        averaged: replace the solenoid's pulses by their mean.

    Raises:
        ValueError: a drive shorter than a pulse, a step that does not divide the pulse, segments out of order, or a log
            rate that is not a whole number of steps.
    """
    log_steps = round(1.0 / (log_rate * step)) if log_rate else 0
    if log_rate and (log_steps < 1 or abs(log_steps * step * log_rate - 1.0) > 1e-6):
        raise ValueError(f"log rate must be one row per whole number of steps of {step} s, got {log_rate} Hz")
    points = car_points(plant, drive, controller)
    schedule = drive_schedule(
        drive, controller, segments=segments, step=step, ready=ready_at_start(points), averaged=averaged
    )
    out, log = run(points, schedule, log_steps)
    return LoopTrace(
        time=drive.time[0] + log[:, Trace.TIME],
        duty=lean_duty(controller, log[:, Trace.DUTY]),
        position=log[:, Trace.POSITION],
        sensor_voltage=log[:, Trace.SENSOR_VOLTAGE],
        air_ratio=1.0 / log[:, Trace.EXCESS],
        sensor_air_ratio=1.0 / log[:, Trace.SENSOR_EXCESS],
        closed=log[:, Trace.CLOSED],
        film=log[:, Trace.FILM] / drive.stoichiometric_ratio,
        statistics=tuple(statistics_of(row, controller) for row in out),
        drive=drive,
        controller=controller,
    )
