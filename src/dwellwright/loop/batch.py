"""Many cars through the same timetable: side by side in vector lanes, blocks of them in threads, statistics only.

Threads are ordinary ones and the kernel lets go of the interpreter, so a batch may be started from several threads at
once and from a forked process. Nothing is stored per step: memory is the cars' parameters, their statistics, and one
workspace per thread, however long the run.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from dwellwright.catalogue.controllers import Controller
from dwellwright.loop.columns import Parameter, Statistic, Trace
from dwellwright.loop.controller import CLOSED
from dwellwright.loop.kernel import LANES, run_batch, run_single
from dwellwright.loop.schedule import (
    DEFAULT_STEP,
    Schedule,
    pulse_steps,
    ring_slots,
    segment_pulses,
    shared_settings,
)
from dwellwright.loop.stages import Floats

FEW = 4
"""Up to so many cars go one by one: a block of lanes takes as long as this however few are in it."""


def steady_schedule(
    controller: Controller,
    duration: float,
    *,
    segments: tuple[float, ...] = (),
    step: float = DEFAULT_STEP,
    averaged: bool = False,
) -> Schedule:
    """Timetable of cars that each hold one operating point in closed loop, with ready sensors.

    Args:
        controller: for its pulse rate, threshold and input; ramps and limits are columns of the cars.
        duration: of the run. [s]
        segments: times at which a segment of the statistics ends; the last is the run's end. A first one to settle.
        step: of time. [s]
        averaged: replace pulses by their mean.

    Raises:
        ValueError: less than one pulse, a step that does not divide the pulse, or segments out of order.
    """
    period, steps = 1.0 / controller.pulse_rate, pulse_steps(controller, step)
    pulses = int(duration / period + 1e-9)
    if pulses < 1:
        raise ValueError(f"duration must be at least one pulse of {period} s, got {duration} s")
    waiting = controller.start_duty if controller.energized_is_lean else 1.0 - controller.start_duty
    drive = np.tile([0.0, CLOSED, waiting], (pulses, 1))
    settings = shared_settings(controller, step, ready=True, averaged=averaged)
    ends = segment_pulses(segments, pulses, period)
    return Schedule(np.zeros(pulses, dtype=np.int64), drive, ends, settings, steps, period)


def _checked(params: Floats, schedule: Schedule) -> Floats:
    points = np.ascontiguousarray(params, dtype=np.float64)
    points = points[:, None, :] if points.ndim == 2 else points
    if points.ndim != 3 or points.shape[2] != len(Parameter) or points.shape[0] == 0:
        raise ValueError(f"cars must be (cars, [points,] {len(Parameter)}), got shape {np.shape(params)}")
    if points.shape[1] <= int(schedule.nodes.max()):
        raise ValueError(f"the timetable needs {int(schedule.nodes.max()) + 1} points, got {points.shape[1]}")
    if not np.isfinite(points).all():
        car, point, column = (int(axis[0]) for axis in np.nonzero(~np.isfinite(points)))
        raise ValueError(f"car {car}, point {point}: {Parameter(column).name.lower()} must be finite")
    for column in (Parameter.EXCESS_RICH, Parameter.EXCESS_LEAN, Parameter.AIR_FLOW, Parameter.SWITCH_WIDTH):
        if (points[..., column] <= 0).any():
            raise ValueError(f"{column.name.lower()} must be positive for every car")
    return points


def simulate_batch(params: Floats, schedule: Schedule, *, threads: int | None = None) -> Floats:
    """Statistics of many cars, shape (cars, `len(Statistic)`), or (cars, segments, ...) with several segments.

    Duty is the share of lean command: the energized share, for a valve that leans when energized. A car's result does
    not depend on its neighbors, to the last digits but one.

    Args:
        params: `columns.Parameter` of each car, shape (cars, columns), or (cars, points, columns) along a drive; one
            car's come from `schedule.car_points`.
        schedule: from `steady_schedule` or `schedule.drive_schedule`.
        threads: to use; all the machine's by default.

    Raises:
        ValueError: a wrong shape, too few points for the timetable, or a value that is not finite or not positive.
    """
    points = _checked(params, schedule)
    cars = points.shape[0]
    out = np.zeros((cars, schedule.segment_ends.size, len(Statistic)))
    slots = ring_slots(points, float(schedule.settings[0]))
    drive, nodes, ends, settings = schedule.drive, schedule.nodes, schedule.segment_ends, schedule.settings
    timetable = (drive, nodes, ends, settings, schedule.pulse_steps, slots)
    if cars <= FEW:
        log = np.zeros((0, len(Trace)))
        for car in range(cars):
            run_single(points[car : car + 1], *timetable, out[car : car + 1], log, 0)
    else:
        _in_threads(lambda first, stop: run_batch(points, *timetable, out, first, stop), cars, threads)
    return out[:, 0] if out.shape[1] == 1 else out


def _in_threads(work: Callable[[int, int], None], cars: int, threads: int | None) -> None:
    """Call `work(first, stop)` on runs of whole blocks, in as many threads as asked for and of use."""
    blocks = -(-cars // LANES)
    workers = min(threads or os.cpu_count() or 1, blocks)
    marks = [min(blocks * part // workers * LANES, cars) for part in range(workers + 1)]
    if workers == 1:
        work(0, cars)
        return
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(work, marks[:-1], marks[1:]))


def warm_up() -> None:
    """Compile both kernels, or fetch them from the on-disk cache, so that no one waits for it later."""
    points = np.ones((1, 1, len(Parameter)))
    drive, nodes, ends = np.zeros((1, 3)), np.zeros(1, dtype=np.int64), np.ones(1, dtype=np.int64)
    settings, out = np.full(8, 1.0), np.zeros((1, 1, len(Statistic)))
    run_single(points, drive, nodes, ends, settings, 1, 8, out, np.zeros((1, len(Trace))), 1)
    run_batch(points, drive, nodes, ends, settings, 1, 8, out, 0, 1)
