"""The fuel network: two routes agree, nodes conserve mass, limits behave."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from dwellwright.carburetor import network
from dwellwright.carburetor.jet import LARGEST_LOG_ERROR, jet_coefficient, range_log10
from dwellwright.carburetor.network import Held, drop_over_jet, idle_fuel, main_fuel, newton_step, tube_drop
from dwellwright.carburetor.solution import NotConvergedError, bracketed_solution, newton_solution, solved
from dwellwright.physics.liquid_flow import annulus_area, discharge_coefficient, metered_flow
from dwellwright.physics.two_phase import bled_liquid_flow, mixture_critical_ratio

held_barrels = st.builds(
    lambda jet, rod, signal, bleed, port, manifold, level: barrel(
        jet, rod, signal, bleed, port, manifold, level
    ),
    jet=st.floats(1.5e-3, 2.4e-3),
    rod=st.floats(0.4, 0.9),
    signal=st.floats(0.0, 6000.0),
    bleed=st.floats(0.5e-6, 6e-6),
    port=st.floats(0.1e-6, 2e-6),
    manifold=st.floats(2e4, 1e5),
    level=st.floats(-4e-3, 4e-3),
)


VISCOSITY = 4.3e-4


def barrel(jet=2e-3, rod=0.7, signal=500.0, bleed=2e-6, port=0.5e-6, manifold=4e4, level=0.0) -> Held:
    """One barrel of sizes within the ranges of common practice."""
    square, linear = network.tube_coefficients(6.4e-7, 0.9e-3, 14e-3, 730.0, 4.3e-4)
    gap, area = jet * (1 - rod), annulus_area(jet, jet * rod)
    return Held(
        jet_area=area, jet_reynolds=gap / (area * VISCOSITY), jet_slenderness=1.5e-3 / gap, power_effective_area=0.0,
        venturi_depression=signal, nozzle_effective_area=5.6e-6, nozzle_head=network.head(9e-3 - level, 730.0),
        main_bleed_effective_area=4.4e-7, idle_head=network.head(16e-3 - level, 730.0), tube_square=square,
        tube_linear=linear, idle_bleed_effective_area=bleed, idle_effective_area=port, ambient_pressure=101325.0,
        manifold_pressure=manifold, air_density=1.16, air_volume=1 / 1.16, fuel_density=730.0, fuel_volume=1 / 730.0,
    )  # fmt: skip


def through_jet(held: Held, drop: float) -> float:
    """Fuel through the jet at a drop, by the law of the physics layer with its own logarithm."""
    gap = held.jet_reynolds * held.jet_area * VISCOSITY
    return metered_flow(held.jet_area, gap, held.jet_slenderness, drop, held.fuel_density, VISCOSITY)


def nested_route(held: Held) -> tuple[float, float]:
    """The same network by two nested bracketing searches on pressures instead of flows, with SciPy."""

    def idle_flow(drop: float) -> float:
        def tube_flow(depression: float) -> float:
            push = max(depression - drop - held.idle_head, 0.0)
            b = held.tube_linear
            return (-b + np.sqrt(b * b + 4 * held.tube_square * push)) / (2 * held.tube_square)

        low = max(drop + held.idle_head, 1e-9)
        if idle_fuel(held, low)[0] <= 0.0:
            return 0.0
        found = brentq(lambda i: tube_flow(i) - idle_fuel(held, i)[0], low, 9e4, xtol=1e-9, rtol=1e-14)
        return float(tube_flow(found))

    def surplus(drop: float) -> float:
        return through_jet(held, drop) - main_fuel(held, drop)[0] - idle_flow(drop)

    if surplus(1e-12) >= 0.0:
        return 0.0, 0.0
    drop = brentq(surplus, 1e-12, 5e4, xtol=1e-10, rtol=1e-14)
    return through_jet(held, drop), idle_flow(drop)


@settings(max_examples=60, deadline=None)
@given(held_barrels)
def test_newton_brackets_and_an_independent_search_agree(held: Held) -> None:
    total, idle = bracketed_solution(held)
    fast_total, fast_idle, found = newton_solution(held, 0.0, 0.0)
    other_total, other_idle = nested_route(held)
    assert total == pytest.approx(other_total, rel=1e-5, abs=4e-9)
    assert idle == pytest.approx(other_idle, rel=1e-5, abs=4e-9)
    if found:
        assert (fast_total, fast_idle) == pytest.approx((total, idle), rel=1e-7, abs=2e-9)


@settings(max_examples=60, deadline=None)
@given(held_barrels)
def test_what_enters_the_jet_leaves_by_nozzle_and_idle_port(held: Held) -> None:
    total, idle = solved(held)
    drop = drop_over_jet(held, total)[0]
    tube = tube_drop(held, idle)[0]
    assert total == pytest.approx(main_fuel(held, drop)[0] + idle, rel=1e-5, abs=4e-9)
    assert idle == pytest.approx(idle_fuel(held, drop + held.idle_head + tube)[0], rel=1e-5, abs=4e-9)


@settings(max_examples=40, deadline=None)
@given(held_barrels)
def test_slopes_are_those_of_the_functions(held: Held) -> None:
    for function, at in ((main_fuel, 0.3 * held.venturi_depression + 1.0), (idle_fuel, 700.0)):
        step = 1e-3
        low, middle, high = (function(held, at + d)[0] for d in (-step, 0.0, step))
        if low > 0.0 and high > 0.0:
            assert function(held, at)[1] == pytest.approx((high - low) / (2 * step), rel=0.03, abs=1e-14)
        assert low >= middle >= high, "more depression at a node never draws more fuel out of it"


def test_bled_flow_is_the_law_of_the_physics_layer() -> None:
    for air in (0.0, 1e-5, 5e-5):
        law = bled_liquid_flow(2e-6, 0.75, 4000.0, air, 730.0, 1.16)
        mine = network.bled_flow(0.75 * 2e-6, (4000.0, 0.0), (air, 0.0), 1 / 1.16, barrel())[0]
        assert mine == pytest.approx(law, rel=1e-12)


def test_the_logarithm_of_the_jets_law_is_as_near_as_it_says() -> None:
    values = 0.00015 * np.geomspace(10.0, 20000.0, 40001)
    errors = np.abs([range_log10(value) for value in values] - np.log10(values))
    assert 1e-10 < errors.max() < LARGEST_LOG_ERROR


@pytest.mark.parametrize("slenderness", [1.0, 2.5, 8.0])
def test_the_jets_coefficient_is_the_law_of_the_physics_layer_and_its_slope_is_its_own(
    slenderness: float,
) -> None:
    for reynolds in (1.0, 9.0, 11.0, 50.0, 300.0, 2000.0, 9000.0, 19000.0, 30000.0):
        coefficient, slope = jet_coefficient(reynolds, slenderness)
        assert coefficient == pytest.approx(discharge_coefficient(reynolds, slenderness), rel=2e-10)
        high, low = (discharge_coefficient(reynolds * f, slenderness) for f in (1 + 1e-5, 1 - 1e-5))
        assert slope == pytest.approx((high - low) / (2e-5 * coefficient), abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(held_barrels, st.floats(2e-5, 3e-3))
def test_the_jets_drop_has_the_slope_it_says(held: Held, fuel: float) -> None:
    step = 1e-5 * fuel
    low, high = drop_over_jet(held, fuel - step)[0], drop_over_jet(held, fuel + step)[0]
    assert drop_over_jet(held, fuel)[1] == pytest.approx((high - low) / (2 * step), rel=1e-3)


@settings(max_examples=40, deadline=None)
@given(held_barrels)
def test_newtons_step_stands_still_at_the_solution(held: Held) -> None:
    total, idle = solved(held)
    again = newton_step(held, total, idle)
    assert again[:2] == pytest.approx((total, idle), rel=1e-5, abs=4e-9)


@pytest.mark.parametrize(
    "field", ["jet_area", "fuel_density", "manifold_pressure", "tube_linear", "venturi_depression"]
)
def test_a_state_without_a_solution_is_refused_and_shown(field: str) -> None:
    with pytest.raises(NotConvergedError, match=rf"does not converge for Held\(.*{field}=nan"):
        solved(barrel()._replace(**{field: float("nan")}))


def test_no_number_is_handed_out_where_the_balances_stay_open() -> None:
    # a bleed that blows air in at a pressure below nothing: the idle circuit's balance has no root
    broken = barrel()._replace(tube_square=-1e16, tube_linear=-1e9)
    with pytest.raises(NotConvergedError, match="does not converge"):
        solved(broken)


def test_the_choking_ratio_is_the_all_air_limit_of_the_mixture_law() -> None:
    assert mixture_critical_ratio(1.0) == pytest.approx(network.CRITICAL_RATIO, abs=1e-3)


def test_at_idle_signal_the_main_nozzle_gives_nothing() -> None:
    assert main_fuel(barrel(signal=40.0), 10.0) == (0.0, 0.0)


def test_blocked_bleeds_draw_more_fuel_and_a_closed_port_none() -> None:
    open_bleed, closed = solved(barrel(bleed=3e-6)), solved(barrel(bleed=1e-9))
    assert closed[1] > open_bleed[1]
    assert solved(barrel(port=1e-12))[1] == pytest.approx(0.0, abs=1e-9)
