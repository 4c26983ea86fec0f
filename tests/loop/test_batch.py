"""Many cars at once against one at a time, threads, memory, drives with many points, and refusals."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from threading import Thread

import numpy as np
import pytest
from tests.loop.ideal import CONTROLLER, REAL, cars

from dwellwright.loop.batch import simulate_batch, steady_schedule
from dwellwright.loop.columns import Parameter as Param
from dwellwright.loop.columns import Statistic as Stat
from dwellwright.loop.drive import steady_drive
from dwellwright.loop.mixture import MixtureMap
from dwellwright.loop.plant import Plant
from dwellwright.loop.schedule import car_points, drive_schedule
from dwellwright.loop.simulation import run

TIGHT = 1e-9


def scattered(count: int, seed: int = 7) -> np.ndarray:
    """Different cars round the real one."""
    rng = np.random.default_rng(seed)
    rows = np.repeat(cars({}, base=REAL), count, axis=0)
    rows *= rng.uniform(0.9, 1.1, rows.shape)
    rows[:, Param.SENSOR_WEIGHT] = np.minimum(rows[:, Param.SENSOR_WEIGHT], 1.0)
    rows[:, Param.HIGH_LIMIT] = np.minimum(rows[:, Param.HIGH_LIMIT], 1.0)
    return rows


@pytest.mark.parametrize("averaged", [False, True])
def test_a_car_in_a_batch_is_the_car_alone(averaged: bool) -> None:
    rows = scattered(37)
    schedule = steady_schedule(CONTROLLER, 12.0, segments=(4.0,), averaged=averaged)
    together = simulate_batch(rows, schedule, threads=2)
    for car, row in enumerate(rows):
        alone, _ = run(row[None], schedule, 0)
        assert together[car] == pytest.approx(alone, rel=TIGHT, abs=TIGHT)


def test_threads_and_neighbors_do_not_matter() -> None:
    rows, schedule = scattered(50), steady_schedule(CONTROLLER, 5.0)
    assert np.array_equal(
        simulate_batch(rows, schedule, threads=1), simulate_batch(rows, schedule, threads=3)
    )
    order = np.random.default_rng(1).permutation(50)
    assert np.array_equal(simulate_batch(rows[order], schedule), simulate_batch(rows, schedule)[order])


def test_several_callers_at_once() -> None:
    rows, schedule, found = scattered(20), steady_schedule(CONTROLLER, 5.0), []
    callers = [
        Thread(target=lambda: found.append(simulate_batch(rows, schedule, threads=2))) for _ in range(4)
    ]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join()
    assert len(found) == 4
    assert all(np.array_equal(found[0], other) for other in found[1:])


def test_memory_does_not_grow_with_the_run() -> None:
    rows, peaks = scattered(32), []
    for duration in (5.0, 40.0):
        schedule = steady_schedule(CONTROLLER, duration)
        tracemalloc.start()
        simulate_batch(rows, schedule, threads=1)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] <= peaks[0] + 4096


def test_a_drive_of_equal_points_is_a_steady_point() -> None:
    drive = steady_drive(
        MixtureMap(0.02, 0.02 / 14.6 * 1.2, 0.02 / 14.6 * 0.9, 14.6), 20.0, engine_speed=35.0
    )
    points = car_points(Plant(), drive, CONTROLLER)
    schedule = drive_schedule(drive, replace(CONTROLLER, open_loop=()))
    moving = simulate_batch(np.repeat(points[None], 3, axis=0), schedule)
    standing = simulate_batch(np.repeat(points[:1], 3, axis=0), steady_schedule(CONTROLLER, 20.0))
    assert moving == pytest.approx(standing, rel=1e-6, abs=1e-6)


def test_every_statistic_is_finite_and_within_its_bounds() -> None:
    out = simulate_batch(scattered(64, seed=3), steady_schedule(CONTROLLER, 15.0))
    assert np.isfinite(out).all()
    for share in (Stat.RICH_SHARE, Stat.SHARE_AT_LEAN_LIMIT, Stat.SHARE_AT_RICH_LIMIT, Stat.CLOSED_SHARE):
        assert ((out[:, share] >= -1e-12) & (out[:, share] <= 1 + 1e-12)).all()
    assert (out[:, Stat.DUTY_LEAST] <= out[:, Stat.DUTY_MEAN]).all()
    assert (out[:, Stat.DUTY_MEAN] <= out[:, Stat.DUTY_GREATEST]).all()
    assert (out[:, Stat.VOLTAGE_LEAST] <= out[:, Stat.VOLTAGE_GREATEST]).all()
    assert out[:, Stat.DURATION] == pytest.approx(15.0)


def test_regression_pin() -> None:
    """Pinned from this simulator, not from any source: tells of a change, not of an error."""
    schedule = steady_schedule(CONTROLLER, 60.0, segments=(20.0,))
    got = simulate_batch(cars({}, base=REAL), schedule)[0, 1]
    pins = {
        Stat.DUTY_MEAN: 0.519912409,
        Stat.DUTY_AMPLITUDE: 0.0612074412,
        Stat.PERIOD: 4.0999768,
        Stat.VOLTAGE_MEAN: 0.467713875,
        Stat.LAMBDA_MEAN: 0.999972317,
    }
    for statistic, value in pins.items():
        assert got[statistic] == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (lambda rows: rows[:, :-1], r"cars must be \(cars, \[points,\] 28\)"),
        (lambda rows: rows[:0], "cars must be"),
        (
            lambda rows: np.where(np.arange(len(Param)) == Param.DELAY, np.nan, rows),
            "car 0, point 0: delay must be",
        ),
        (lambda rows: rows * (np.arange(len(Param)) != Param.AIR_FLOW), "air_flow must be positive"),
    ],
)
def test_refused_cars(change: object, what: str) -> None:
    with pytest.raises(ValueError, match=what):
        simulate_batch(change(scattered(2)), steady_schedule(CONTROLLER, 1.0))  # type: ignore[operator]


def test_refused_timetables() -> None:
    with pytest.raises(ValueError, match="at least one pulse"):
        steady_schedule(CONTROLLER, 0.05)
    with pytest.raises(ValueError, match="divide the pulse period"):
        steady_schedule(CONTROLLER, 5.0, step=0.0013)
    with pytest.raises(ValueError, match="rising times within"):
        steady_schedule(CONTROLLER, 5.0, segments=(9.0,))
    drive = steady_drive(MixtureMap(0.02, 0.0016, 0.0012, 14.6), 5.0, engine_speed=35.0)
    long = replace(drive, **{
        name: np.repeat(getattr(drive, name), 2)[:3] if name != "time" else np.array([0.0, 2.0, 5.0])
        for name in (
            "time", "engine_speed", "air_flow", "fuel_rich", "fuel_lean", "manifold_pressure", "coolant_temperature",
            "sensor_temperature", "throttle_voltage", "battery_voltage",
        )
    })  # fmt: skip
    with pytest.raises(ValueError, match="the timetable needs 2 points, got 1"):
        simulate_batch(scattered(2), drive_schedule(long, CONTROLLER))
