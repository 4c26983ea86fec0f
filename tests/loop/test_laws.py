"""The kernel's laws against the physics they restate, which is written elsewhere and in another form."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dwellwright.loop.laws import (
    decay,
    effective_position,
    film_step,
    hold,
    lagged,
    share_above,
    switching_voltage,
)
from dwellwright.physics.lag import lagged as physical_lag
from dwellwright.physics.switching import switching_curve
from dwellwright.physics.wall_film import delivered_flow, film_mass


@pytest.mark.parametrize("temperature", [700.0, 850.0, 1100.0])
@pytest.mark.parametrize("air_ratio", [0.8, 0.95, 0.999, 1.0, 1.0005, 1.03, 1.4])
def test_switching_curve_is_that_of_physics(temperature: float, air_ratio: float) -> None:
    curve = switching_curve(1.85, 0.0, temperature)
    numbers = (curve.rich_level, curve.rich_rise, curve.rich_offset)
    numbers += (curve.lean_level, curve.lean_rise, curve.lean_offset, curve.width)
    assert switching_voltage(1 / air_ratio - 1, *numbers) == pytest.approx(
        curve.voltage(air_ratio), abs=1e-12
    )


@settings(deadline=None)  # the first call compiles
@given(st.floats(0, 1e-3), st.floats(1e-5, 1e-2), st.floats(0.01, 0.9), st.floats(0.05, 3.0))
def test_film_is_that_of_physics(mass: float, fuel: float, share: float, time: float) -> None:
    fill = 1 - exp(-1e-3 / time)
    held, passed = film_step(mass, fuel, share * time, fill, fill / 1e-3)
    assert held == pytest.approx(film_mass(mass, fuel, 1e-3, share, time), rel=1e-9, abs=1e-15)
    assert passed == pytest.approx(delivered_flow(mass, held, fuel, 1e-3), rel=1e-6, abs=1e-12)


@settings(deadline=None)  # the first call compiles
@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.01, 3.0))
def test_lag_of_a_standing_input_is_that_of_physics(value: float, target: float, time: float) -> None:
    got = lagged(value, target, target, decay(0.01, time), hold(0.01, time))
    assert got == pytest.approx(physical_lag(value, target, 0.01, time), abs=1e-12)


def test_lag_of_a_ramp_trails_by_its_time_constant() -> None:
    """Closed form: long after its start a ramp through a lag is late by tau, whatever the step."""
    for step in (0.001, 0.05):
        value, clock = 0.0, 0.0
        while clock < 3.0:
            value = lagged(value, clock, clock + step, decay(step, 0.2), hold(step, 0.2))
            clock += step
        assert value == pytest.approx(clock - 0.2 * (1 - exp(-clock / 0.2)), abs=1e-9)


@pytest.mark.parametrize(
    ("duty", "pull_in", "drop_out", "want"),
    [
        (0.5, 0.06, 0.04, 0.48),
        (0.05, 0.06, 0.04, 0.0),  # too short to pull in
        (0.97, 0.06, 0.04, 1.0),  # too short a gap to drop out
        (0.0, 0.0, 0.0, 0.0),
        (1.0, 0.06, 0.04, 1.0),
        (1.0, 2.0, 0.04, 0.0),  # a battery that cannot pull in
    ],
)
def test_effective_position(duty: float, pull_in: float, drop_out: float, want: float) -> None:
    assert effective_position(duty, pull_in, drop_out) == pytest.approx(want)


@pytest.mark.parametrize(
    ("before", "after", "want"),
    [(0.1, 0.9, 0.5), (0.9, 0.1, 0.5), (0.4, 0.8, 0.75), (0.6, 0.7, 1.0), (0.1, 0.2, 0.0)],
)
def test_share_above(before: float, after: float, want: float) -> None:
    assert share_above(before, after, 0.5) == pytest.approx(want, abs=1e-9)
