"""Liquid flow: Torricelli, the orifice-plate solver of `fluids`, laminar and turbulent limits, refusals."""

from math import pi, sqrt

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.physics import liquid_flow as lf


def test_torricelli() -> None:
    # closed form: a column of 0.1 m drains at sqrt(2 g h), Cd = 1
    drop = 745.0 * 9.80665 * 0.1
    flow = lf.orifice_flow(2e-3, drop, 745.0, discharge=1.0)
    assert flow == pytest.approx(745.0 * pi / 4 * 4e-6 * sqrt(2 * 9.80665 * 0.1), rel=1e-12)


def test_iso_orifice_plate_with_the_coefficient_of_fluids() -> None:
    # independent library: full ISO 5167 solution, then the same flow from its C by the plain law with the
    # approach factor put in by hand (beta is far from still here)
    expected = fluids.differential_pressure_meter_solver(
        D=0.07366, D2=0.05, P1=2e5, P2=1.83e5, rho=999.1, mu=0.0011, k=1.33,
        meter_type="ISO 5167 orifice", taps="D",
    )  # fmt: skip
    assert expected == pytest.approx(7.7023380, rel=1e-6)  # value on file for the same case
    discharge, expansibility = fluids.differential_pressure_meter_C_epsilon(
        D=0.07366, D2=0.05, m=expected, P1=2e5, P2=1.83e5, rho=999.1, mu=0.0011, k=1.33,
        meter_type="ISO 5167 orifice", taps="D",
    )  # fmt: skip
    approach = 1.0 / sqrt(1.0 - (0.05 / 0.07366) ** 4)
    got = lf.orifice_flow(0.05, 1.7e4, 999.1, discharge=discharge) * approach * expansibility
    assert got == pytest.approx(expected, rel=1e-9)


def test_still_approach_is_one_percent_low_at_a_third_of_the_passage() -> None:
    # the claim in the docstring of orifice_flow: closed form of the approach factor
    assert 1.0 / sqrt(1.0 - 0.37**4) == pytest.approx(1.01, abs=5e-4)


@given(drop=st.floats(1.0, 1e5), diameter=st.floats(2e-4, 3e-3))
def test_four_times_the_pressure_twice_the_flow_and_reversal(drop: float, diameter: float) -> None:
    one = lf.orifice_flow(diameter, drop, 745.0, 0.7)
    assert lf.orifice_flow(diameter, 4 * drop, 745.0, 0.7) == pytest.approx(2 * one, rel=1e-12)
    assert lf.orifice_flow(diameter, -drop, 745.0, 0.7) == -one


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan")])
def test_a_liquid_without_density_is_refused(density: float) -> None:
    with pytest.raises(ValueError, match=f"density must be positive, got {density} kg/m³"):
        lf.orifice_flow(1e-3, 100.0, density, 0.7)


@pytest.mark.parametrize(("bore", "rod"), [(1e-3, 1e-3), (1e-3, 2e-3), (1e-3, -1e-4), (-1e-3, 0.0)])
def test_a_rod_that_does_not_fit_is_refused(bore: float, rod: float) -> None:
    with pytest.raises(ValueError, match="the rod must be smaller than the bore"):
        lf.hydraulic_diameter(bore, rod)


@given(bore=st.floats(1e-3, 3e-3), share=st.floats(0.0, 0.999))
def test_annulus_area_is_the_difference_of_two_circles(bore: float, share: float) -> None:
    expected = lf.bore_area(bore) - lf.bore_area(bore * share)
    assert lf.annulus_area(bore, bore * share) == pytest.approx(expected, rel=1e-9, abs=1e-18)
    assert lf.annulus_area(bore, bore * (1.0 + share)) == 0.0


@given(flow=st.floats(1e-6, 1e-2), bore=st.floats(2e-4, 3e-3))
def test_reynolds_number_is_that_of_fluids(flow: float, bore: float) -> None:
    velocity = flow / (745.0 * lf.bore_area(bore))
    expected = fluids.Reynolds(V=velocity, D=bore, rho=745.0, mu=5e-4)  # independent library
    assert lf.reynolds_number(flow, lf.bore_area(bore), bore, 5e-4) == pytest.approx(expected, rel=1e-12)
    assert lf.reynolds_number(flow, 0.0, bore, 5e-4) == 0.0


def test_discharge_by_hand() -> None:
    # the published form worked out by hand (decimal arithmetic on paper form of Lichtarowicz et al. 1965, from memory):
    # Re 1000, L/d 4: Cu .793; 1/Cd = 1/.793 + .02 * 10 - .02/(1 + 7.5 * log10(.15)²) = 1.261034 + .2 - .003283
    assert 1 / lf.discharge_coefficient(1000.0, 4.0) == pytest.approx(1.457751, abs=2e-6)
    # Re 6667 (the middle of the bell, where log10 vanishes), L/d 10: Cu .742
    middle = 1 / 0.00015
    expected = 1 / 0.742 + 20 / middle * 23.5 - 0.05
    assert 1 / lf.discharge_coefficient(middle, 10.0) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("length", [2.0, 4.0, 10.0])
def test_discharge_tends_to_the_published_ultimate_value(length: float) -> None:
    # Lichtarowicz et al. 1965 (from memory): Cu = .827 - .0085 L/d is reached at Re = 20000
    ultimate = 0.827 - 0.0085 * length
    assert lf.discharge_coefficient(2e4, length) == pytest.approx(ultimate, rel=0.02)
    assert lf.discharge_coefficient(1e9, length) == lf.discharge_coefficient(2e4, length)


@given(reynolds=st.floats(10.0, 2e4), length=st.floats(2.0, 10.0))
def test_discharge_stays_below_one_and_falls_with_length(reynolds: float, length: float) -> None:
    short, long = lf.discharge_coefficient(reynolds, length), lf.discharge_coefficient(reynolds, length + 0.5)
    assert 0.0 < long < short < 0.85


def test_discharge_in_the_range_of_jets_is_within_the_prior() -> None:
    # prior of jets, common practice: Cd .6 to .82 for Re 500 to 5000
    for reynolds in (500.0, 1000.0, 2000.0, 5000.0):
        assert 0.6 <= lf.discharge_coefficient(reynolds, 2.5) <= 0.82


def test_discharge_has_no_step_at_the_ends_of_its_range() -> None:
    for end in lf.REYNOLDS_RANGE:
        below, above = (lf.discharge_coefficient(end * (1 + s), 3.0) for s in (-1e-9, 1e-9))
        assert below == pytest.approx(above, rel=1e-7)
    assert lf.discharge_coefficient(0.0, 3.0) == 0.0


@given(drop=st.floats(1e-3, 2e5), bore=st.floats(3e-4, 3e-3), length=st.floats(2.0, 10.0))
def test_metered_flow_agrees_with_its_own_coefficient(drop: float, bore: float, length: float) -> None:
    # two routes: the direct solution, and the plain law with Cd at the Reynolds number found
    area = lf.bore_area(bore)
    flow = lf.metered_flow(area, bore, length, drop, 745.0, 5e-4)
    reynolds = lf.reynolds_number(flow, area, bore, 5e-4)
    again = lf.liquid_flow(area, lf.discharge_coefficient(reynolds, length), drop, 745.0)
    assert flow == pytest.approx(again, rel=1e-9)
    assert lf.metered_flow(area, bore, length, -drop, 745.0, 5e-4) == -flow


@given(drop=st.floats(1e-2, 1e5), bore=st.floats(3e-4, 3e-3))
def test_more_pressure_more_flow_and_thicker_fuel_less(drop: float, bore: float) -> None:
    area = lf.bore_area(bore)
    flow = lf.metered_flow(area, bore, 2.5, drop, 745.0, 5e-4)
    assert lf.metered_flow(area, bore, 2.5, drop * 1.01, 745.0, 5e-4) > flow
    assert lf.metered_flow(area, bore, 2.5, drop, 745.0, 6e-4) <= flow * (1 + 1e-12)


def test_vanishing_pressure_is_laminar() -> None:
    # limit: flow linear in pressure, so the slope at rest is finite
    area = lf.bore_area(6e-4)
    one = lf.metered_flow(area, 6e-4, 2.5, 1e-3, 745.0, 5e-4)
    assert lf.metered_flow(area, 6e-4, 2.5, 2e-3, 745.0, 5e-4) == pytest.approx(2 * one, rel=1e-9)
    assert lf.metered_flow(area, 6e-4, 2.5, 0.0, 745.0, 5e-4) == 0.0
    assert lf.metered_flow(0.0, 6e-4, 2.5, 100.0, 745.0, 5e-4) == 0.0
