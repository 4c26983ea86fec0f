"""Gas flow: against `fluids`, closed forms, limits, symmetry; and that the laws compile as they stand."""

from math import sqrt

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.physics import gas_flow
from dwellwright.physics.atmosphere import standard_pressure, standard_temperature

PRESSURES = st.floats(3e4, 1.1e5)
TEMPERATURES = st.floats(250.0, 400.0)


@pytest.mark.parametrize("heat_ratio", [1.3, 1.4, 1.66])
def test_critical_ratio_is_that_of_fluids(heat_ratio: float) -> None:
    expected = fluids.P_critical_flow(1.0, heat_ratio)  # independent library
    assert gas_flow.critical_pressure_ratio(heat_ratio) == pytest.approx(expected, rel=1e-12)


def test_choked_flux_of_the_published_case() -> None:
    # 241.2397 kg/s/m2 at 101325 Pa, 288.15 K, R 287.05: closed form, computed with `fluids` beforehand
    assert gas_flow.choked_mass_flux(101325.0, 288.15, 1.4, 287.05) == pytest.approx(241.2397, rel=1e-6)


@given(pressure=PRESSURES, temperature=TEMPERATURES)
def test_choked_flux_is_density_times_sound_speed_at_the_throat(pressure: float, temperature: float) -> None:
    # closed form through fluids' stagnation relations at Mach 1
    throat_pressure = fluids.P_critical_flow(pressure, 1.4)
    throat_temperature = temperature * 2.0 / 2.4
    density = throat_pressure / (gas_flow.AIR_GAS_CONSTANT * throat_temperature)
    sound = sqrt(1.4 * gas_flow.AIR_GAS_CONSTANT * throat_temperature)
    assert gas_flow.choked_mass_flux(pressure, temperature) == pytest.approx(density * sound, rel=1e-12)


@given(pressure=PRESSURES, temperature=TEMPERATURES, ratio=st.floats(0.6, 0.995))
def test_unchoked_flow_matches_the_orifice_expansibility_of_fluids(
    pressure: float, temperature: float, ratio: float
) -> None:
    # ISO 5167 nozzle expansibility at diameter ratio 0 is the same isentropic expansion (independent library)
    factor = fluids.flow_meter.nozzle_expansibility(
        D=1.0, Do=1e-4, P1=pressure, P2=pressure * ratio, k=1.4, beta=1e-4
    )
    density = pressure / (gas_flow.AIR_GAS_CONSTANT * temperature)
    expected = factor * sqrt(2.0 * density * pressure * (1.0 - ratio))
    got = gas_flow.compressible_flow(1.0, 1.0, pressure, temperature, pressure * ratio)
    assert got == pytest.approx(expected, rel=1e-9)


@given(pressure=PRESSURES, temperature=TEMPERATURES, ratio=st.floats(0.0, 0.52))
def test_choked_flow_ignores_what_is_downstream(pressure: float, temperature: float, ratio: float) -> None:
    expected = 2e-5 * 0.8 * gas_flow.choked_mass_flux(pressure, temperature)
    got = gas_flow.compressible_flow(2e-5, 0.8, pressure, temperature, pressure * ratio)
    assert got == pytest.approx(expected, rel=1e-12)


@given(first=PRESSURES, second=PRESSURES, temperature=TEMPERATURES)
def test_swapping_the_pressures_swaps_the_sign(first: float, second: float, temperature: float) -> None:
    forward = gas_flow.compressible_flow(1e-5, 0.8, first, temperature, second)
    assert gas_flow.compressible_flow(1e-5, 0.8, second, temperature, first) == -forward


def test_small_drops_are_incompressible() -> None:
    # limit: Bernoulli with the upstream density, correction of order drop / pressure
    density = 1e5 / (gas_flow.AIR_GAS_CONSTANT * 300.0)
    got = gas_flow.compressible_flow(1.0, 1.0, 1e5, 300.0, 1e5 - 10.0)
    assert got == pytest.approx(sqrt(2.0 * density * 10.0), rel=2e-4)


@given(st.floats(0.5, 0.56))
def test_no_step_where_the_flow_chokes(ratio: float) -> None:
    low = gas_flow.compressible_flow(1.0, 1.0, 1e5, 300.0, 1e5 * ratio)
    high = gas_flow.compressible_flow(1.0, 1.0, 1e5, 300.0, 1e5 * (ratio + 1e-6))
    assert 0.0 <= low - high < 1e-4 * low


@given(mach=st.floats(0.01, 0.9999), pressure=PRESSURES, temperature=TEMPERATURES)
def test_venturi_depression_inverts_the_flow(mach: float, pressure: float, temperature: float) -> None:
    # two routes: isentropic relations by Mach number, and the orifice flow at the depression found
    exact = pressure * (1.0 - 1.0 / fluids.P_stagnation(1.0, 1.0, 1.0 + 0.2 * mach**2, 1.4))
    flow = gas_flow.choked_mass_flux(pressure, temperature) * mach * ((1.0 + 0.2 * mach**2) / 1.2) ** -3.0
    depression = gas_flow.venturi_depression(5e-4 * 0.85 * flow, 5e-4, 0.85, pressure, temperature)
    assert depression == pytest.approx(exact, rel=1e-6)
    back = gas_flow.compressible_flow(5e-4, 0.85, pressure, temperature, pressure - depression)
    assert back == pytest.approx(5e-4 * 0.85 * flow, rel=1e-7)


def test_venturi_depression_stops_at_the_sonic_one() -> None:
    sonic = (1.0 - gas_flow.critical_pressure_ratio()) * 1e5
    limit = 5e-4 * 0.85 * gas_flow.choked_mass_flux(1e5, 300.0)
    for excess in (1.0, 1.5):
        got = gas_flow.venturi_depression(excess * limit, 5e-4, 0.85, 1e5, 300.0)
        assert got == pytest.approx(sonic, rel=1e-7)
    assert gas_flow.sonic_share(limit, 5e-4, 0.85, 1e5, 300.0) == pytest.approx(1.0)
    assert gas_flow.sonic_share(limit, 0.0, 0.85, 1e5, 300.0) == float("inf")


def test_venturi_depression_goes_with_the_square_of_a_small_flow() -> None:
    one = gas_flow.venturi_depression(1e-4, 5e-4, 0.85, 1e5, 300.0)
    assert gas_flow.venturi_depression(2e-4, 5e-4, 0.85, 1e5, 300.0) == pytest.approx(4.0 * one, rel=1e-4)
    assert gas_flow.venturi_depression(0.0, 5e-4, 0.85, 1e5, 300.0) == 0.0
    assert gas_flow.venturi_depression(-1e-3, 5e-4, 0.85, 1e5, 300.0) == 0.0


def test_main_circuit_leans_with_height_as_the_square_root_of_density() -> None:
    # closed form: lambda of a plain main circuit ~ sqrt(air density); .976/.953/.929/.906 at 500..2000 m
    def air_to_root_signal(height: float) -> float:
        pressure, temperature = standard_pressure(height), standard_temperature(height)
        volume_flow = 0.02
        flow = volume_flow * pressure / (gas_flow.AIR_GAS_CONSTANT * temperature)
        return flow / sqrt(gas_flow.venturi_depression(flow, 6e-4, 0.85, pressure, temperature))

    base = air_to_root_signal(0.0)
    for height, expected in [(500.0, 0.976), (1000.0, 0.953), (1500.0, 0.929), (2000.0, 0.906)]:
        assert air_to_root_signal(height) / base == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((-1e-6, 0.8, 300.0), "passage area must be zero or more, got -1e-06 m²"),
        ((1e-6, 1.2, 300.0), "discharge coefficient must lie from 0 to 1, got 1.2"),
        ((1e-6, float("nan"), 300.0), "discharge coefficient must lie from 0 to 1, got nan"),
        ((1e-6, 0.8, 0.0), "gas temperature must be a positive number, got 0.0 K"),
    ],
)
def test_impossible_passages_are_refused(arguments: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        gas_flow.require_gas_passage(*arguments)
