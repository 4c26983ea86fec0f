"""Sensor: against Cantera's equilibrium, hand values from Gibbs data, the fast curve, cold behavior."""

from functools import lru_cache
from math import log

import cantera
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.physics import zirconia
from dwellwright.physics.switching import CURVE_ERROR, PINS, switching_curve

# on file, mV: Cantera, and by hand from Gibbs data; reference air .2095 atm, H/C 1.85
ON_FILE = {
    900.0: {
        0.90: 943.9,
        0.95: 913.2,
        0.99: 847.9,
        0.999: 758.0,
        1.001: 135.2,
        1.01: 90.7,
        1.05: 60.2,
        1.10: 47.6,
    },
    700.0: {0.95: 1003.6, 0.99: 951.8, 1.01: 70.6, 1.05: 46.8},
}
CASES = [(temperature, lambda_) for temperature, row in ON_FILE.items() for lambda_ in row]


@lru_cache
def mixture() -> cantera.Solution:
    wanted = ("H2", "O2", "H2O", "CO", "CO2", "N2", "AR", "C2H2")
    species = [s for s in cantera.Species.list_from_file("gri30.yaml") if s.name in wanted]
    return cantera.Solution(thermo="ideal-gas", species=species)


def cantera_voltage(temperature: float, lambda_: float, h: float = 1.85, o: float = 0.0) -> float:
    gas, offered = mixture(), lambda_ * (1 + h / 4 - o / 2)
    air = offered / 0.209476
    gas.TPX = temperature, cantera.one_atm, {
        "C2H2": 0.5, "H2": (h - 1) / 2, "O2": offered + o / 2, "N2": air * 0.78084, "AR": air * 0.009684,
    }  # fmt: skip
    gas.equilibrate("TP", rtol=1e-11)
    # oxygen from its chemical potential: the mole fraction itself may be below the solver's floor
    potential = (
        gas.chemical_potentials[gas.species_index("H2O")] - gas.chemical_potentials[gas.species_index("H2")]
    )
    standard = gas.standard_gibbs_RT[gas.species_index("O2")]
    log_oxygen = 2 * potential / (cantera.gas_constant * temperature) - standard
    return cantera.gas_constant * temperature / (4 * cantera.faraday) * (log(0.2095) - log_oxygen)


@pytest.mark.parametrize(("temperature", "lambda_"), CASES)
def test_voltage_on_file(temperature: float, lambda_: float) -> None:
    got = 1e3 * zirconia.sensor_voltage(lambda_, 1.85, 0.0, temperature)
    assert got == pytest.approx(ON_FILE[temperature][lambda_], abs=0.2)


@pytest.mark.parametrize("temperature", [650.0, 800.0, 1000.0, 1150.0])
@pytest.mark.parametrize("lambda_", [0.80, 0.93, 0.995, 1.005, 1.07, 1.30])
@pytest.mark.parametrize("fuel", [(1.85, 0.0), (1.9261, 0.0331), (2.75, 0.39)])
def test_voltage_is_that_of_cantera(temperature: float, lambda_: float, fuel: tuple[float, float]) -> None:
    expected = cantera_voltage(temperature, lambda_, *fuel)  # independent library, its own Gibbs data
    assert zirconia.sensor_voltage(lambda_, *fuel, temperature) == pytest.approx(expected, abs=4e-4)


@pytest.mark.parametrize("temperature", [600.0, 800.0, 1000.0, 1200.0])
def test_gibbs_data_are_those_of_cantera(temperature: float) -> None:
    gas = mixture()
    gas.TP = temperature, cantera.one_atm
    energies = dict(zip(gas.species_names, gas.standard_gibbs_RT, strict=True))
    monoxide, hydrogen = zirconia.oxidation_constants(temperature)
    slack = 60.0 / (8.314 * temperature)  # 60 J/mol, 0.3 mV
    assert log(monoxide) == pytest.approx(energies["CO"] + energies["O2"] / 2 - energies["CO2"], abs=slack)
    assert log(hydrogen) == pytest.approx(energies["H2"] + energies["O2"] / 2 - energies["H2O"], abs=slack)


def test_nernst_by_hand() -> None:
    # closed form: a decade of oxygen is RT ln(10) / 4F = 44.64 mV at 900 K; none without a difference
    decade = zirconia.nernst_voltage(900.0, 0.001) - zirconia.nernst_voltage(900.0, 0.01)
    assert 1e3 * decade == pytest.approx(44.64, abs=0.01)
    assert zirconia.nernst_voltage(900.0, 0.2095) == 0.0


@given(lambda_=st.floats(0.7, 1.6), step=st.floats(1e-5, 0.1), temperature=st.floats(600.0, 1200.0))
def test_leaner_gas_never_raises_the_voltage(lambda_: float, step: float, temperature: float) -> None:
    rich, lean = (zirconia.sensor_voltage(lambda_ + s, 1.85, 0.0, temperature) for s in (0.0, step))
    assert lean < rich


@given(lambda_=st.floats(1.01, 1.6), temperature=st.floats(600.0, 1100.0))
def test_lean_gas_shows_its_free_oxygen(lambda_: float, temperature: float) -> None:
    # limit, closed form: on the lean side equilibrium oxygen is the free oxygen of complete combustion
    demand = 1.4625
    moles = 1 + 0.925 + lambda_ * demand * (1 / 0.209476 - 1) + (lambda_ - 1) * demand
    got = zirconia.equilibrium_oxygen(lambda_, 1.85, 0.0, temperature)
    assert got == pytest.approx((lambda_ - 1) * demand / moles, rel=1e-3)
    double = zirconia.equilibrium_oxygen(lambda_, 1.85, 0.0, temperature, 2 * 101325.0)
    assert double == pytest.approx(2 * got, rel=1e-3)


@pytest.mark.parametrize("temperature", [700.0, 800.0, 900.0, 1000.0, 1100.0])
@pytest.mark.parametrize("fuel", [(1.85, 0.0), (1.9261, 0.0331)])
def test_fast_curve_keeps_its_stated_error(temperature: float, fuel: tuple[float, float]) -> None:
    curve = switching_curve(*fuel, temperature)
    lambdas = [1 + side * (0.004 + 0.001 * i) for i in range(147) for side in (-1, 1)]
    worst = max(abs(curve.voltage(x) - zirconia.sensor_voltage(x, *fuel, temperature)) for x in lambdas)
    assert 0.5 * CURVE_ERROR < worst < CURVE_ERROR


@given(lambda_=st.floats(0.7, 1.5), step=st.floats(1e-5, 0.1))
def test_fast_curve_falls_everywhere(lambda_: float, step: float) -> None:
    curve = switching_curve(1.85, 0.0, 900.0)
    assert curve.voltage(lambda_ + step) < curve.voltage(lambda_)
    assert 0.0 < curve.voltage(lambda_) < 1.1


def test_fast_curve_meets_its_pins_as_the_width_vanishes() -> None:
    curve = switching_curve(1.85, 0.0, 900.0, width=1e-6)
    for pin in PINS:
        for lambda_ in (1 - pin, 1 + pin):
            assert curve.voltage(lambda_) == pytest.approx(
                zirconia.sensor_voltage(lambda_, 1.85, 0.0, 900.0), abs=1e-5
            )


def test_fast_curve_switches_at_lambda_one_and_takes_a_bias() -> None:
    curve = switching_curve(1.85, 0.0, 900.0)
    assert curve.voltage(0.997) > 0.6
    assert curve.voltage(1.003) < 0.25
    assert 0.35 < curve.voltage(1.0) < 0.55  # common practice: the switch point is taken as 450 mV
    assert curve.voltage(0.95, bias=-0.1) == pytest.approx(curve.voltage(0.95) - 0.1)


@pytest.mark.parametrize("width", [0.0, -1e-3, 0.006, float("nan")])
def test_a_width_that_hides_the_pins_is_refused(width: float) -> None:
    with pytest.raises(ValueError, match=r"width of the switch must lie between 0 and 0\.006"):
        switching_curve(1.85, 0.0, 900.0, width=width)


def test_a_cold_sensor_reads_the_bias_and_a_hot_one_itself() -> None:
    cold = zirconia.element_resistance(300.0)
    hot = zirconia.element_resistance(900.0)
    assert cold > 1e10 > 1e3 > hot
    assert zirconia.loaded_voltage(0.85, cold, 1e6, 0.45) == pytest.approx(0.45, abs=1e-4)
    assert zirconia.loaded_voltage(0.85, hot, 1e6, 0.45) == pytest.approx(0.85, abs=1e-3)
    assert zirconia.loaded_voltage(0.85, float("inf"), 1e6, 0.45) == 0.45
    # closed form: equal resistances meet in the middle
    assert zirconia.loaded_voltage(0.85, 1e6, 1e6, 0.45) == pytest.approx(0.65)


def test_resistance_follows_arrhenius() -> None:
    assert zirconia.element_resistance(623.15) == zirconia.REFERENCE_RESISTANCE
    ratio = zirconia.element_resistance(600.0) / zirconia.element_resistance(700.0)
    assert log(ratio) == pytest.approx(zirconia.RESISTANCE_ENERGY * (1 / 600 - 1 / 700))
    assert zirconia.element_resistance(1.0) < float("inf")
