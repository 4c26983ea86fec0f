"""Lag, wall film and transport delay: conservation, exact steps, two routes, limits, refusals."""

from cmath import exp as cexp
from math import exp, inf, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from dwellwright.physics import lag, transport
from dwellwright.physics.wall_film import WallFilm, delivered_flow, film_mass

SHARES = st.floats(0.0, 1.0)
TIMES = st.floats(0.05, 3.0)


@given(
    mass=st.floats(0.0, 0.01), flow=st.floats(0.0, 0.003), step=st.floats(1e-3, 2.0), share=SHARES, tau=TIMES
)
def test_film_conserves_mass(mass: float, flow: float, step: float, share: float, tau: float) -> None:
    later = film_mass(mass, flow, step, share, tau)
    delivered = delivered_flow(mass, later, flow, step)
    assert delivered * step + later == pytest.approx(flow * step + mass, rel=1e-9, abs=1e-15)
    assert delivered >= (1 - share) * flow - 1e-12


@given(flow=st.floats(1e-5, 0.003), share=SHARES, tau=TIMES, step=st.floats(1e-3, 1.0))
def test_film_in_equilibrium_stays_there(flow: float, share: float, tau: float, step: float) -> None:
    settled = WallFilm(share, tau).equilibrium_mass(flow)
    assert film_mass(settled, flow, step, share, tau) == pytest.approx(settled, rel=1e-12)


@given(flow=st.floats(0.0, 0.003), share=SHARES, tau=TIMES, step=st.floats(1e-3, 1.0))
def test_two_half_steps_are_one(flow: float, share: float, tau: float, step: float) -> None:
    half = film_mass(film_mass(1e-3, flow, step / 2, share, tau), flow, step / 2, share, tau)
    assert film_mass(1e-3, flow, step, share, tau) == pytest.approx(half, rel=1e-9)


def test_film_step_is_the_differential_equation() -> None:
    # two routes: the exact step and a numerical integration (scipy)
    answer = solve_ivp(lambda _, m: 0.35 * 2e-3 - m / 0.6, (0, 0.4), [1e-4], rtol=1e-10, atol=1e-14)
    assert film_mass(1e-4, 2e-3, 0.4, 0.35, 0.6) == pytest.approx(answer.y[0, -1], rel=1e-8)


def test_film_response_is_that_of_the_stepped_film() -> None:
    # two routes: transfer function, and the step update driven with a sine until settled
    film, frequency, step = WallFilm(0.4, 0.8), 2 * pi * 0.5, 1e-3
    mass, total = 0.0, 0j
    for index in range(12000):
        flow = 1.0 + 0.1 * (cexp(1j * frequency * step * (index + 0.5))).real
        later = film_mass(mass, flow, step, film.wall_share, film.time_constant)
        delivered, mass = delivered_flow(mass, later, flow, step), later
        if index >= 8000:  # two whole periods
            total += (delivered - 1.0) * cexp(-1j * frequency * step * (index + 0.5))
    assert total / 4000 * 2 / 0.1 == pytest.approx(film.response(frequency), abs=2e-3)


@given(share=SHARES, tau=TIMES)
def test_film_response_limits(share: float, tau: float) -> None:
    film = WallFilm(share, tau)
    assert film.response(0.0) == 1.0
    assert film.response(1e9) == pytest.approx(1 - share, abs=1e-6)
    assert WallFilm(0.0, tau).response(3.0) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("share", "tau", "message"),
    [
        (1.1, 0.5, r"wall share must lie from 0 to 1, got 1\.1"),
        (0.3, 0.0, r"film time constant must be a positive number, got 0\.0 s"),
        (0.3, inf, "film time constant must be a positive number, got inf s"),
    ],
)
def test_impossible_films_are_refused(share: float, tau: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        WallFilm(share, tau)


def test_lag_reaches_63_percent_in_its_time_constant() -> None:
    assert lag.lagged(0.0, 1.0, 0.3, 0.3) == pytest.approx(1 - exp(-1))  # closed form
    assert lag.lagged(0.0, 1.0, 0.3, 0.0) == 1.0
    assert lag.lagged_both_ways(0.0, 1.0, 0.1, 0.0, 5.0) == 1.0


@given(value=st.floats(0.0, 1.0), target=st.floats(0.0, 1.0), step=st.floats(0.0, 1.0))
def test_equal_lags_both_ways_are_one_lag_and_never_overshoot(
    value: float, target: float, step: float
) -> None:
    plain = lag.lagged(value, target, step, 0.2)
    assert lag.lagged_both_ways(value, target, step, 0.2, 0.2) == plain
    assert min(value, target) - 1e-12 <= plain <= max(value, target) + 1e-12


def test_a_slow_fall_is_slower_than_the_rise() -> None:
    assert lag.lagged_both_ways(0.0, 1.0, 0.1, 0.05, 0.5) == pytest.approx(1 - exp(-2))
    assert lag.lagged_both_ways(1.0, 0.0, 0.1, 0.05, 0.5) == pytest.approx(exp(-0.2))


def test_gain_of_a_lag() -> None:
    assert lag.lag_gain(0.0, 0.3) == 1.0
    assert lag.lag_gain(1 / 0.3, 0.3) == pytest.approx(0.5**0.5)  # closed form: corner frequency


def test_passage_delay_is_volume_over_volume_flow() -> None:
    # closed form: 2 litres at 0.5 kg/m3 and 4 g/s is 0.25 s
    temperature = 101325.0 / (287.0 * 0.5)
    assert transport.passage_delay(2e-3, 4e-3, 101325.0, temperature) == pytest.approx(0.25)
    assert transport.passage_delay(2e-3, 0.0, 101325.0, 800.0) == inf


def test_cycle_delay_is_three_strokes() -> None:
    assert transport.cycle_delay(750 / 60) == pytest.approx(0.12)  # closed form: 1.5 rev at 750 rpm
    assert transport.cycle_delay(0.0) == inf


@given(speed=st.floats(8.0, 80.0), flow=st.floats(2e-3, 0.1))
def test_transport_delay_is_the_sum_of_its_parts(speed: float, flow: float) -> None:
    whole = transport.transport_delay(speed, flow, 3e-3, 4e4, 320.0, 2e-3, 1.02e5, 800.0)
    parts = transport.cycle_delay(speed) + transport.passage_delay(3e-3, flow, 4e4, 320.0)
    parts += transport.passage_delay(2e-3, flow, 1.02e5, 800.0)
    assert whole == pytest.approx(parts, rel=1e-12)


def test_transport_delay_of_a_common_engine() -> None:
    # common practice, no source: loop delay 0.6-1.2 s at idle and 0.2-0.35 s at cruise, of which transport is most
    idle = transport.transport_delay(750 / 60, 4.5e-3, 4e-3, 4e4, 320.0, 2.5e-3, 1.02e5, 750.0)
    cruise = transport.transport_delay(2000 / 60, 1.6e-2, 4e-3, 5e4, 310.0, 2.5e-3, 1.04e5, 950.0)
    assert 0.3 < idle < 1.2
    assert 0.1 < cruise < 0.35
    assert transport.transport_delay(0.0, 0.0, 4e-3, 4e4, 320.0, 2e-3, 1e5, 750.0) == inf
