"""The time simulation and the closed forms: two routes to the same cycle."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from tests.loop.ideal import CONTROLLER, REAL, cars, settled

from dwellwright.loop.batch import simulate_batch, steady_schedule
from dwellwright.loop.columns import Parameter as Param
from dwellwright.loop.columns import Statistic as Stat
from dwellwright.loop.limit_cycle import integral_cycle, jump_cycle, lagged_cycle, uneven_cycle

STEP = 1e-3
QUANTUM = 2 * STEP
"""A sensor that is a perfect switch switches on a step's end: an ideal cycle is a whole number of steps. [s]"""

PARTIAL = 5e-4
"""Means over a window that is not a whole number of cycles are off by up to amplitude * period / window / 4. [-]"""


@pytest.mark.parametrize("delay", [0.2, 0.35, 0.9])
def test_pure_integral(delay: float) -> None:
    got = settled(cars({Param.DELAY: delay}))
    want = integral_cycle(0.05, delay + STEP / 2)  # without any lag a signal is held, on average, half a step
    assert got[Stat.PERIOD][0] == pytest.approx(want.period, abs=QUANTUM)
    assert got[Stat.DUTY_AMPLITUDE][0] == pytest.approx(want.amplitude, abs=0.05 * STEP)
    assert got[Stat.DUTY_MEAN][0] == pytest.approx(0.5, abs=PARTIAL)
    assert got[Stat.RICH_SHARE][0] == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize(("delay", "lag"), [(0.3, 0.3), (0.6, 0.15), (0.25, 0.8)])
@pytest.mark.parametrize("where", [Param.MIXING_TIME, Param.WELL_TIME])
def test_lag_wherever_it_sits(delay: float, lag: float, where: Param) -> None:
    got = settled(cars({Param.DELAY: delay, where: lag}))
    want = lagged_cycle(0.05, delay if where == Param.MIXING_TIME else delay + STEP / 2, lag)
    assert got[Stat.PERIOD][0] == pytest.approx(want.period, abs=2 * QUANTUM)
    assert got[Stat.DUTY_AMPLITUDE][0] == pytest.approx(want.amplitude, rel=3e-3)


@pytest.mark.parametrize("jump", [0.003, 0.01, 0.05])
def test_jump(jump: float) -> None:
    got = settled(cars({Param.DELAY: 0.5, Param.JUMP: jump}))
    want = jump_cycle(0.05, 0.5 + STEP / 2, jump)
    assert got[Stat.PERIOD][0] == pytest.approx(want.period, rel=4e-3)
    assert got[Stat.DUTY_AMPLITUDE][0] == pytest.approx(want.amplitude, rel=1e-2)


def test_sensor_slower_one_way_shifts_the_mean() -> None:
    """A lag between two levels is a detection delay of tau ln 2 where the threshold lies midway."""
    rise, fall, delay = 0.03, 0.15, 0.6
    got = settled(cars({Param.DELAY: delay, Param.LEAN_TO_RICH_TIME: rise, Param.RICH_TO_LEAN_TIME: fall}))
    want = uneven_cycle(0.05, 0.05, delay + rise * log(2), delay + fall * log(2))
    assert got[Stat.PERIOD][0] == pytest.approx(want.period, rel=2e-3)
    assert got[Stat.DUTY_MEAN][0] - 0.5 == pytest.approx(want.mean_shift, abs=PARTIAL)
    assert want.mean_shift > 4 * PARTIAL


def test_uneven_ramps() -> None:
    got = settled(cars({Param.LEAN_RAMP: 0.08, Param.RICH_RAMP: 0.04, Param.DELAY: 0.5}))
    want = uneven_cycle(0.08, 0.04, 0.5 + STEP / 2, 0.5 + STEP / 2)
    assert got[Stat.PERIOD][0] == pytest.approx(want.period, rel=1e-3)
    assert got[Stat.DUTY_MEAN][0] - 0.5 == pytest.approx(want.mean_shift, abs=PARTIAL)


def test_steady_duty_solved_and_simulated() -> None:
    """Where the linear map crosses stoichiometry, and the mean of the loop that looks for it."""
    rich, lean = np.array([1.30, 1.15, 1.05, 1.12]), np.array([0.95, 0.85, 0.70, 0.90])
    got = settled(
        cars(*({Param.EXCESS_RICH: a, Param.EXCESS_LEAN: b} for a, b in zip(rich, lean, strict=True)))
    )
    assert got[Stat.DUTY_MEAN] == pytest.approx((rich - 1) / (rich - lean), abs=PARTIAL)
    assert got[Stat.LAMBDA_MEAN] == pytest.approx(1.0, abs=PARTIAL)


def test_solenoid_lateness_moves_the_command_and_not_the_mixture() -> None:
    late = cars({Param.PULL_IN: 0.08, Param.DROP_OUT: 0.03}, {Param.PULL_IN: 0.02, Param.DROP_OUT: 0.06}, {})
    got = settled(late)
    assert got[Stat.DUTY_MEAN] == pytest.approx([0.55, 0.46, 0.5], abs=PARTIAL)
    assert got[Stat.LAMBDA_MEAN] == pytest.approx(1.0, abs=PARTIAL)


def test_everything_in_and_real_pulses() -> None:
    """Pulses, film, well and a real sensor leave the mean within half a percent of stoichiometry."""
    got = settled(cars({}, base=REAL), averaged=False)
    assert got[Stat.LAMBDA_MEAN][0] == pytest.approx(1.0, abs=0.005)
    assert got[Stat.DUTY_MEAN][0] == pytest.approx(0.5 + 0.06 - 0.04, abs=0.01)
    assert (
        4 * 0.6 < got[Stat.PERIOD][0] < 4 * (0.6 + 0.25 + 0.12 + 0.3 + 0.1)
    )  # delay alone; every lag as a delay


def test_false_air_and_a_shifted_sensor_leave_the_engine_off_stoichiometry() -> None:
    got = settled(cars({Param.FALSE_AIR: 0.04}, {Param.SENSOR_SHIFT: 0.03}, {Param.SENSOR_SHIFT: -0.03}))
    assert got[Stat.LAMBDA_MEAN] == pytest.approx([1 / 1.04, 1 / 0.97, 1 / 1.03], abs=3 * PARTIAL)
    assert got[Stat.DUTY_MEAN][0] == pytest.approx((1.15 - 1.04) / 0.30, abs=3 * PARTIAL)


def test_halving_the_step() -> None:
    """Second order: each halving takes away three quarters of what is left, and 1 ms is within 1e-5 of the limit."""
    row = cars({Param.JUMP: 0.0}, base=REAL)
    period = [settled(row, step=step)[Stat.PERIOD][0] for step in (4e-3, 2e-3, 1e-3, 5e-4)]
    first, second, third = np.abs(np.diff(period))
    assert first / second == pytest.approx(4.0, rel=0.1)
    assert second / third == pytest.approx(4.0, rel=0.1)
    assert third / period[-1] < 1e-5


def test_mirror() -> None:
    """Rich and lean exchanged: the duty mirrors about one half."""
    stops, mirrored = (
        {Param.EXCESS_RICH: 1.2, Param.EXCESS_LEAN: 0.9},
        {Param.EXCESS_RICH: 1.1, Param.EXCESS_LEAN: 0.8},
    )
    one = settled(cars(stops | {Param.START_DUTY: 0.3, Param.LEAN_RAMP: 0.07}))
    other = settled(cars(mirrored | {Param.START_DUTY: 0.7, Param.RICH_RAMP: 0.07}))
    assert one[Stat.DUTY_MEAN][0] + other[Stat.DUTY_MEAN][0] == pytest.approx(1.0, abs=1e-6)
    assert one[Stat.PERIOD][0] == pytest.approx(other[Stat.PERIOD][0], rel=1e-4)
    assert one[Stat.RICH_SHARE][0] + other[Stat.RICH_SHARE][0] == pytest.approx(1.0, abs=1e-3)


def test_out_of_reach_sits_at_a_limit() -> None:
    rows = cars({Param.EXCESS_LEAN: 1.02}, {Param.EXCESS_RICH: 0.98}, base=REAL)
    got = settled(rows, averaged=False)
    assert got[Stat.SHARE_AT_LEAN_LIMIT] == pytest.approx([1.0, 0.0])
    assert got[Stat.SHARE_AT_RICH_LIMIT] == pytest.approx([0.0, 1.0])
    assert got[Stat.DUTY_MEAN] == pytest.approx([0.9, 0.1])
    assert got[Stat.RICH_SHARE] == pytest.approx([1.0, 0.0])
    assert got[Stat.SWITCHES] == pytest.approx([0.0, 0.0])


def test_fuel_is_conserved() -> None:
    """Metered, less burnt, is what wells and wall gained; on the way up from cold and after settling."""
    soaked = {Param.START_DUTY: 0.9, Param.FILM_SHARE: 0.6, Param.FILM_TIME: 2.0}
    rows = cars({Param.START_DUTY: 0.1}, soaked, base=REAL)
    out = simulate_batch(rows, steady_schedule(CONTROLLER, 20.0, segments=(0.5, 3.0)), threads=1)
    gained = out[..., Stat.FUEL_METERED] - out[..., Stat.FUEL_BURNT]
    assert np.abs(out[:, 0, Stat.HELD_GAIN]).min() > 1e-6
    assert out[..., Stat.HELD_GAIN] == pytest.approx(gained, abs=1e-13)
