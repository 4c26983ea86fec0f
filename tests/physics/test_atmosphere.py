"""Standard atmosphere and humidity: published tables, `fluids`, CoolProp."""

import fluids
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.physics import atmosphere, humidity

PSI, FOOT = 6894.757293168, 0.3048


@pytest.mark.parametrize(("height", "pressure"), [(1000.0, 89874.57), (2000.0, 79495.22), (3000.0, 70108.54)])
def test_published_pressures_by_geopotential_height(height: float, pressure: float) -> None:
    # US Standard Atmosphere 1976, table 1 by geopotential height
    assert atmosphere.standard_pressure(height) == pytest.approx(pressure, abs=0.01)


@pytest.mark.parametrize(("feet", "psi"), [(10_000, 10.108), (5_000, 12.230)])
def test_published_pressures_in_feet(feet: int, psi: float) -> None:
    # US Standard Atmosphere 1976, table in English units, which goes by geometric height;
    # 12.230 is a printed value that the standard's own formula puts at 12.228, hence the tolerance
    height = atmosphere.geopotential_height(feet * FOOT)
    assert atmosphere.standard_pressure(height) / PSI == pytest.approx(psi, abs=2e-3)


@given(st.floats(-400.0, 10_900.0))
def test_agrees_with_fluids_by_geometric_height(height: float) -> None:
    reference = fluids.ATMOSPHERE_1976(height)  # independent library, takes geometric height
    geopotential = atmosphere.geopotential_height(height)
    assert atmosphere.standard_pressure(geopotential) == pytest.approx(reference.P, rel=1e-9)
    assert atmosphere.standard_temperature(geopotential) == pytest.approx(reference.T, rel=1e-12)
    assert atmosphere.standard_density(geopotential) == pytest.approx(reference.rho, rel=1e-6)
    assert atmosphere.geometric_height(geopotential) == pytest.approx(height, abs=1e-6)


@given(st.floats(*atmosphere.HEIGHT_RANGE))
def test_height_from_pressure_is_the_inverse(height: float) -> None:
    assert atmosphere.pressure_height(atmosphere.standard_pressure(height)) == pytest.approx(height, abs=1e-6)


def test_no_height_without_pressure() -> None:
    with pytest.raises(ValueError, match="absolute pressure must be positive, got -1 Pa"):
        atmosphere.pressure_height(-1)


@pytest.mark.parametrize("temperature", [275.0, 288.15, 298.15, 320.0, 350.0, 373.0])
def test_saturation_over_water_is_that_of_coolprop(temperature: float) -> None:
    expected = PropsSI("P", "T", temperature, "Q", 0, "Water")  # IAPWS-95, independent library
    assert humidity.saturation_pressure(temperature) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("temperature", [240.0, 255.0, 270.0])
def test_saturation_over_ice_is_that_of_coolprop(temperature: float) -> None:
    # independent library, humid-air properties at a pressure so low that air does not enhance
    ratio = HAPropsSI("W", "T", temperature, "R", 1.0, "P", 5000.0)
    got = humidity.humidity_ratio(1.0, temperature, 5000.0)
    assert got == pytest.approx(ratio, rel=2e-3)


def test_both_saturation_laws_meet_at_the_triple_point() -> None:
    # published: 611.657 Pa (IAPWS)
    assert humidity.saturation_pressure(273.1599) == pytest.approx(611.657, rel=1e-4)
    assert humidity.saturation_pressure(273.1601) == pytest.approx(611.657, rel=1e-4)


@pytest.mark.parametrize("temperature", [278.15, 298.15, 313.15])
@pytest.mark.parametrize("pressure", [80000.0, 101325.0])
@pytest.mark.parametrize("relative", [0.2, 0.5, 1.0])
def test_humidity_ratio_and_density_are_those_of_coolprop(
    temperature: float, pressure: float, relative: float
) -> None:
    arguments = ("T", temperature, "R", relative, "P", pressure)
    ratio = humidity.humidity_ratio(relative, temperature, pressure)
    assert ratio == pytest.approx(HAPropsSI("W", *arguments), rel=1e-3)
    moist = (1.0 + ratio) / HAPropsSI("Vda", *arguments)  # real-gas volume per kg of dry air
    assert humidity.moist_density(pressure, temperature, ratio) == pytest.approx(moist, rel=1e-3)


def test_dry_air_is_the_limit() -> None:
    assert humidity.humidity_ratio(0.0, 300.0, 1e5) == 0.0
    assert humidity.moist_density(1e5, 300.0, 0.0) == atmosphere.air_density(1e5, 300.0)
    assert humidity.oxygen_fraction(0.0) == 0.209476
    assert humidity.dry_air_share(0.0) == 1.0


@given(st.floats(0.0, 0.03))
def test_water_displaces_oxygen(ratio: float) -> None:
    # closed form: moles of water per mole of dry air
    water = humidity.water_mole_ratio(ratio)
    assert humidity.oxygen_fraction(ratio) * (1.0 + water) == pytest.approx(0.209476, rel=1e-12)
    assert humidity.moist_density(1e5, 300.0, ratio) <= atmosphere.air_density(1e5, 300.0)


def test_impossible_humidity_is_refused() -> None:
    with pytest.raises(ValueError, match=r"relative humidity must lie from 0 to 1, got 1\.2"):
        humidity.humidity_ratio(1.2, 300.0, 1e5)
    with pytest.raises(ValueError, match=r"does not fit in 50000\.0 Pa"):
        humidity.humidity_ratio(1.0, 370.0, 5e4)
