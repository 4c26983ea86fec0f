"""Air-bled liquid: the one relation read four ways, its limits, and choking against a numerical maximum."""

from math import exp, log, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from dwellwright.physics import two_phase as tp
from dwellwright.physics.gas_flow import critical_pressure_ratio
from dwellwright.physics.liquid_flow import liquid_flow

AREA, CD, FUEL, AIR = 1.0e-6, 0.75, 745.0, 1.15
DROPS = st.floats(50.0, 5e4)
FACTORS = st.floats(*tp.AIR_VOLUME_FACTOR_RANGE)


@given(drop=DROPS, share=st.floats(0.0, 0.98), factor=FACTORS)
def test_liquid_air_and_pressure_are_one_relation(drop: float, share: float, factor: float) -> None:
    all_air = CD * AREA * sqrt(2 * drop * AIR / factor)
    air = share * all_air
    liquid = tp.bled_liquid_flow(AREA, CD, drop, air, FUEL, AIR, factor)
    # closed form: the relation itself
    left = (liquid + air) * (liquid / FUEL + factor * air / AIR)
    assert left == pytest.approx(2 * (CD * AREA) ** 2 * drop, rel=1e-9)
    assert tp.bled_pressure_drop(AREA, CD, liquid, air, FUEL, AIR, factor) == pytest.approx(drop, rel=1e-9)
    assert tp.bled_air_flow(AREA, CD, drop, liquid, FUEL, AIR, factor) == pytest.approx(
        air, rel=1e-6, abs=1e-12
    )
    total = tp.mixture_flow(AREA, CD, drop, air / (air + liquid), FUEL, AIR, factor)
    assert total == pytest.approx(air + liquid, rel=1e-9)


def test_without_air_it_is_the_plain_liquid_law() -> None:
    got = tp.bled_liquid_flow(AREA, CD, 500.0, 0.0, FUEL, AIR)
    assert got == pytest.approx(liquid_flow(AREA, CD, 500.0, FUEL), rel=1e-12)
    assert tp.mixture_flow(AREA, CD, -500.0, 0.0, FUEL, AIR) == pytest.approx(-got, rel=1e-12)


def test_without_liquid_it_is_the_plain_gas_law() -> None:
    got = tp.bled_air_flow(AREA, CD, 500.0, 0.0, FUEL, AIR)
    assert got == pytest.approx(CD * AREA * sqrt(2 * 500.0 * AIR), rel=1e-12)


@given(drop=DROPS, share=st.floats(0.01, 0.95))
def test_more_bleed_less_fuel(drop: float, share: float) -> None:
    air = share * CD * AREA * sqrt(2 * drop * AIR)
    less = tp.bled_liquid_flow(AREA, CD, drop, 0.9 * air, FUEL, AIR)
    more = tp.bled_liquid_flow(AREA, CD, drop, air, FUEL, AIR)
    assert more < less
    assert tp.bled_liquid_flow(AREA, CD, drop, air, FUEL, AIR, 1.4) < more


def test_a_passage_full_of_air_or_without_drop_carries_nothing() -> None:
    all_air = CD * AREA * sqrt(2 * 500.0 * AIR)
    assert tp.bled_liquid_flow(AREA, CD, 500.0, 1.01 * all_air, FUEL, AIR) == 0.0
    assert tp.bled_liquid_flow(AREA, CD, 0.0, 0.0, FUEL, AIR) == 0.0
    assert tp.bled_liquid_flow(0.0, CD, 500.0, 0.0, FUEL, AIR) == 0.0
    all_fuel = liquid_flow(AREA, CD, 500.0, FUEL)
    assert tp.bled_air_flow(AREA, CD, 500.0, 1.01 * all_fuel, FUEL, AIR) == 0.0
    assert tp.bled_air_flow(AREA, CD, -1.0, 0.0, FUEL, AIR) == 0.0


def test_all_air_chokes_at_the_isothermal_ratio() -> None:
    # closed form: isothermal perfect gas chokes at exp(-1/2), above the isentropic ratio
    assert tp.mixture_critical_ratio(1.0) == pytest.approx(exp(-0.5), abs=1e-10)
    assert tp.mixture_critical_ratio(1.0) > critical_pressure_ratio()
    assert tp.mixture_critical_ratio(0.0) == 0.0


@pytest.mark.parametrize("void", [0.05, 0.2, 0.5, 0.8, 0.95, 1.0])
def test_critical_ratio_is_where_the_flux_is_largest(void: float) -> None:
    # second route: maximise the homogeneous frozen flux G = sqrt(2 int v dp) / v numerically (scipy)
    def flux(ratio: float) -> float:
        work = (1 - void) * (1 - ratio) - void * log(ratio)
        return sqrt(2 * work) / (1 + void * (1 / ratio - 1))

    best = minimize_scalar(
        lambda r: -flux(r), bounds=(1e-4, 0.9999), method="bounded", options={"xatol": 1e-10}
    )
    assert tp.mixture_critical_ratio(void) == pytest.approx(best.x, abs=1e-6)
    choked = tp.mixture_flow_limit(AREA, CD, 1e5, 0.0, void, 100.0)
    assert choked == pytest.approx(CD * AREA * sqrt(1e5 * 100.0) * -best.fun, rel=1e-9)


@given(void=st.floats(1e-4, 1.0), share=st.floats(0.0, 0.999))
def test_limit_is_choked_below_the_critical_ratio_and_not_above(void: float, share: float) -> None:
    critical = tp.mixture_critical_ratio(void)
    choked = tp.mixture_flow_limit(AREA, CD, 1e5, 0.0, void, 100.0)
    below = tp.mixture_flow_limit(AREA, CD, 1e5, 1e5 * critical * share, void, 100.0)
    assert below == pytest.approx(choked, rel=1e-9)
    ratio = critical + (1 - critical) * share
    work = (1 - void) * (1 - ratio) - void * log(ratio)  # closed form of the unchoked flux
    plain = CD * AREA * sqrt(2 * 1e5 * 100.0 * work) / (1 + void * (1 / ratio - 1))
    assert tp.mixture_flow_limit(AREA, CD, 1e5, 1e5 * ratio, void, 100.0) == pytest.approx(plain, rel=1e-9)


@given(void=st.floats(0.01, 1.0), drop=st.floats(10.0, 400.0))
def test_small_drops_are_incompressible(void: float, drop: float) -> None:
    density = 745.0 * (1 - void) + 1.15 * void
    limit = tp.mixture_flow_limit(AREA, CD, 1e5, 1e5 - drop, void, density)
    plain = CD * AREA * sqrt(2 * density * drop)
    assert limit == pytest.approx(plain, rel=0.8 * drop / 1e5 + 1e-9)
    assert tp.mixture_flow_limit(AREA, CD, 1e5, 1e5 + drop, void, density) == 0.0


def test_the_three_percent_claim_at_a_tenth_of_the_pressure() -> None:
    # docstring of bled_liquid_flow: nearly all air, drop 0.1 of the pressure, air density downstream
    upstream = 1e5 / (287.05 * 300.0)
    exact = tp.mixture_flow_limit(AREA, CD, 1e5, 9e4, 1.0, upstream)
    plain = tp.mixture_flow(AREA, CD, 1e4, 1.0, FUEL, 0.9 * upstream)
    assert plain / exact == pytest.approx(1.027, abs=1e-3)


@given(share=st.floats(0.0005, 1.0), factor=FACTORS)
def test_void_is_the_volume_share(share: float, factor: float) -> None:
    void = tp.air_void(share, FUEL, AIR, factor)
    assume(void < 1.0)
    assert void / (1 - void) == pytest.approx(factor * share * FUEL / (AIR * (1 - share)), rel=1e-6)
