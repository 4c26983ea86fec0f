"""Units against Pint, whose values are read from the library; dwell against its definition; refusals."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.units import (
    UNITS,
    Dimension,
    duty_of_dwell,
    dwell_degrees,
    from_si,
    full_scale_dwell,
    known_unit,
    step_from_si,
    step_to_si,
    to_si,
)

PINT = pint.UnitRegistry()
SI_IN_PINT = {
    Dimension.LENGTH: "meter",
    Dimension.AREA: "meter**2",
    Dimension.VOLUME: "meter**3",
    Dimension.PRESSURE: "pascal",
    Dimension.TEMPERATURE: "kelvin",
    Dimension.TEMPERATURE_STEP: "kelvin",
    Dimension.VOLTAGE: "volt",
    Dimension.RESISTANCE: "ohm",
    Dimension.TIME: "second",
    Dimension.FREQUENCY: "turn/second",
    Dimension.SPEED: "meter/second",
    Dimension.FLOW: "kilogram/second",
    Dimension.FRACTION: "dimensionless",
    Dimension.ANGLE: "degree",
    Dimension.TURNS: "turn",
}
"""What is kept inside. Angles and turns stay shop units; a frequency is turns (or pulses) per second."""

NAME_IN_PINT = {
    "m2": "m**2", "mm2": "mm**2", "m3": "m**3", "inHg": "inch_Hg", "l": "liter", "cc": "cm**3",
    "lb/h": "pound/hour", "km/h": "km/hour", "mph": "mile/hour", "min": "minute", "Hz": "turn/second",
    "rpm": "revolutions_per_minute", "1": "dimensionless", "%": "percent", "vol_pct": "percent",
    "deg": "degree", "turns": "turn", "um": "micrometer", "psi": "pound_force_per_square_inch",
}  # fmt: skip

SAMPLES = (0.0, 1.0, -40.0, 98.6, 12345.6)


def in_pint(value: float, unit: str) -> float:
    quantity = PINT.Quantity(value, NAME_IN_PINT.get(unit, unit))
    return float(quantity.to(SI_IN_PINT[UNITS[unit].dimension]).magnitude)


@pytest.mark.parametrize("unit", sorted(UNITS))
@pytest.mark.parametrize("value", SAMPLES)
def test_every_unit_agrees_with_pint(unit: str, value: float) -> None:
    assert to_si(value, unit) == pytest.approx(in_pint(value, unit), rel=1e-7, abs=1e-12)


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_steps_agree_with_differences_in_pint(unit: str) -> None:
    assert step_to_si(1.0, unit) == pytest.approx(in_pint(51.0, unit) - in_pint(50.0, unit), rel=1e-7)


@pytest.mark.parametrize(
    ("value", "unit", "si", "origin"),
    [
        (1.0, "in", 0.0254, "exact by the international yard and pound agreement of 1959"),
        (1.0, "thou", 2.54e-5, "a thousandth of the inch"),
        (1.0, "inHg", 3386.389, "NIST SP 811 appendix B.8, conventional, seven digits"),
        (1.0, "psi", 6894.757, "NIST SP 811 appendix B.8, seven digits"),
        (32.0, "degF", 273.15, "the ice point by definition of both scales"),
        (212.0, "degF", 373.15, "the conventional steam point"),
        (600.0, "rpm", 10.0, "sixty seconds in a minute"),
        (1.0, "mph", 0.44704, "exact: 5280 feet of 0.3048 m in 3600 s"),
    ],
)  # fmt: skip
def test_published_definitions(value: float, unit: str, si: float, origin: str) -> None:
    assert to_si(value, unit) == pytest.approx(si, rel=2e-7), origin


finite = st.floats(min_value=-1e9, max_value=1e9)


@given(value=finite, unit=st.sampled_from(sorted(UNITS)))
def test_there_and_back(value: float, unit: str) -> None:
    assert from_si(to_si(value, unit), unit) == pytest.approx(value, rel=1e-9, abs=1e-6)
    assert step_from_si(step_to_si(value, unit), unit) == pytest.approx(value, rel=1e-12)


@given(duty=st.floats(min_value=0, max_value=1), cylinders=st.integers(min_value=1, max_value=16))
def test_dwell_and_duty_there_and_back(duty: float, cylinders: int) -> None:
    dwell = dwell_degrees(duty, cylinders)
    assert 0 <= dwell <= full_scale_dwell(cylinders)
    assert duty_of_dwell(dwell, cylinders) == pytest.approx(duty, rel=1e-12, abs=1e-300)


@given(duty=st.floats(min_value=0, max_value=1), here=st.integers(1, 16), there=st.integers(1, 16))
def test_the_same_pulse_on_two_scales_differs_by_the_cylinders(duty: float, here: int, there: int) -> None:
    assert dwell_degrees(duty, here) * here == pytest.approx(dwell_degrees(duty, there) * there, rel=1e-12)


@pytest.mark.parametrize(
    ("cylinders", "full"), [(4, 90.0), (6, 60.0), (8, 45.0)]
)  # closed form: 360 deg shared by the cylinders
def test_full_scale(cylinders: int, full: float) -> None:
    assert full_scale_dwell(cylinders) == full


def test_half_duty_is_thirty_degrees_on_the_default_scale() -> None:
    """Common practice, no source: the six-cylinder scale, where 50 % shows as 30 deg."""
    assert dwell_degrees(0.5) == 30.0


@pytest.mark.parametrize("cylinders", [0, -6])
@pytest.mark.parametrize("function", [dwell_degrees, duty_of_dwell])
def test_a_scale_without_cylinders_is_refused(function: object, cylinders: int) -> None:
    assert callable(function)
    with pytest.raises(ValueError, match=f"cylinders must be positive, got {cylinders}"):
        function(0.5, cylinders)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("convert", [to_si, step_to_si])
def test_a_value_that_is_no_number_is_refused(convert: object, value: float) -> None:
    assert callable(convert)
    with pytest.raises(
        InputFault, match=r"not a finite number \(bench.csv, row 3\); wanted a number in mm; got"
    ):
        convert(value, "mm", where="bench.csv, row 3")


@pytest.mark.parametrize("unit", ["furlong", "MM", "", "mm "])
def test_an_unknown_unit_is_refused_with_the_known_ones(unit: str) -> None:
    with pytest.raises(
        InputFault, match=r"unknown unit \(gas.csv, column 2\); wanted m, mm, .*; got '"
    ) as fault:
        to_si(1.0, unit, where="gas.csv, column 2")
    assert fault.value.got == repr(unit)


@pytest.mark.parametrize("convert", [from_si, step_from_si])
def test_showing_in_an_unknown_unit_is_refused(convert: object) -> None:
    assert callable(convert)
    with pytest.raises(InputFault, match="unknown unit; wanted m, "):
        convert(1.0, "cubit")


def test_every_dimension_has_its_si_unit() -> None:
    for dimension in Dimension:
        assert any(u.dimension is dimension and u.factor == 1.0 and u.offset == 0.0 for u in UNITS.values())


def test_a_known_unit_is_found() -> None:
    assert known_unit("thou").dimension is Dimension.LENGTH
