"""Lambda and its budget against equilibrium gas and an independent uncertainty library."""

import pytest
from GTC import result as gtc_result
from GTC import ureal

from dwellwright.catalogue.fuels import ethanol_blend
from dwellwright.catalogue.instruments import analyzer
from dwellwright.errors import InputFault
from dwellwright.evidence.gas import GasReading, air_ratio, gas_options, observations
from dwellwright.evidence.gas.air_ratio import GasOptions, gas_uncertainty, lambda_budget
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.physics.exhaust import FROZEN_GAS_ERROR, brettschneider_lambda

# Cantera equilibrium gas at K = 3.5, H/C 1.85, dry percent: lambda, CO, CO2, O2
EQUILIBRIUM = [
    (0.85, 5.62294, 11.60925, 0.0),
    (0.95, 1.81010, 14.12575, 0.0),
    (1.05, 0.01306, 14.54667, 1.07294),
    (1.15, 0.00717, 13.20980, 2.90401),
]


def gas(co: float, co2: float, o2: float, hc: float = 0.0) -> GasReading:
    return GasReading("idle", Regime.IDLE, co / 100, co2 / 100, o2 / 100, hc * 1e-6, source="gas.csv, row 2")


@pytest.mark.parametrize(("true", "co", "co2", "o2"), EQUILIBRIUM)
def test_equilibrium_gas_gives_back_its_lambda(true: float, co: float, co2: float, o2: float) -> None:
    found = air_ratio(gas(co, co2, o2), gas_options())
    assert found.lambda_.value == pytest.approx(true, abs=1e-5)
    assert found.air_fuel_ratio.value / gas_options().fuel.stoichiometric_ratio == pytest.approx(
        true, rel=1.5e-3
    )
    assert abs(found.by_two_methods) < 2e-3
    assert not found.diluted


def test_misfire_keeps_the_balance_and_false_air_moves_it() -> None:
    # Cantera: 2 % misfire at 0.95 still balances to 0.95; 5 % dry false air takes 0.95 to 0.99731.
    misfire = air_ratio(gas(1.7663, 13.7836, 0.4410, 529.0), gas_options())
    assert misfire.lambda_.value == pytest.approx(0.95, abs=2e-4)
    leak = gas(1.8101 * 0.95, 14.12575 * 0.95, 20.9476 * 0.05)
    assert air_ratio(leak, gas_options()).lambda_.value == pytest.approx(0.99731, abs=2e-4)


def test_budget_agrees_with_an_independent_library() -> None:
    options = gas_options()
    reading = gas(0.94, 14.5, 0.65, 273.0)
    meter, fuel = options.meter, options.fuel
    channels = [
        (reading.co, meter.co),
        (reading.co2, meter.co2),
        (reading.o2, meter.o2),
        (reading.hc, meter.hc),
    ]
    numbers = [ureal(value, gas_uncertainty(value, channel)) for value, channel in channels]
    hydrogen, factor = ureal(fuel.hydrogen_to_carbon, 0.05), ureal(6.0, 1.5)
    reference = gtc_result(brettschneider_lambda(*numbers, 0.0, hydrogen, 0.0, factor, 0.0, 3.5))
    budget = lambda_budget(reading, options)
    # minus the frozen-gas part, which is this project's own
    plain = sum(part.contribution**2 for part in budget.components[:-1]) ** 0.5
    assert budget.components[-1].contribution == pytest.approx(FROZEN_GAS_ERROR * (1 - budget.value) / 0.1)
    assert budget.value == pytest.approx(reference.x, rel=1e-12)
    assert plain == pytest.approx(reference.u, rel=2e-3)


def test_lean_gas_has_no_frozen_part_and_rich_gas_all_of_it() -> None:
    lean = lambda_budget(gas(*EQUILIBRIUM[3][1:]), gas_options())
    rich = lambda_budget(gas(*EQUILIBRIUM[0][1:]), gas_options())
    assert "water gas frozen colder" not in {part.name for part in lean.components}
    assert rich.components[-1].contribution == FROZEN_GAS_ERROR


def test_own_fuel_changes_the_answer() -> None:
    # E10's oxygen: by atom balance the same gas reads lower lambda demand; both near 1, not equal.
    reading = gas(0.7, 14.4, 0.6, 250.0)
    plain = lambda_budget(reading, gas_options()).value
    blend = lambda_budget(reading, GasOptions(ethanol_blend(0.10), analyzer("class_1"))).value
    assert blend != plain
    assert abs(blend - plain) < 0.01
    ratio = air_ratio(reading, GasOptions(ethanol_blend(0.10), analyzer("class_1"))).air_fuel_ratio.value
    # stoichiometric ratio of E10 is 13.987 (Cantera)
    assert ratio / blend == pytest.approx(13.987, abs=0.03)


def test_infrared_factor_reads_leaner_gas_as_richer() -> None:
    reading = gas(0.9, 14.2, 0.6, 280.0)
    assert lambda_budget(reading, gas_options(carbon_factor=12.0)).value == pytest.approx(
        lambda_budget(reading, gas_options()).value - 0.0108, abs=5e-4
    )


def test_better_analyzer_narrows_the_budget() -> None:
    reading = gas(0.9, 14.2, 0.6, 280.0)
    spreads = [
        lambda_budget(reading, gas_options(analyzer_class=f"class_{n}")).uncertainty for n in (0, 1, 2)
    ]
    assert spreads == sorted(spreads)
    assert spreads[0] < spreads[2]


def test_dilution_is_seen() -> None:
    assert air_ratio(gas(0.3, 5.5, 12.0, 100.0), gas_options()).diluted
    assert not air_ratio(gas(0.6, 5.5, 12.0, 100.0), gas_options()).diluted


def test_air_is_refused_and_observed_without_lambda() -> None:
    with pytest.raises(InputFault, match="too little CO2"):
        lambda_budget(gas(0.0, 0.1, 20.9), gas_options())
    seen = {one.measured for one in observations([gas(0.0, 0.1, 20.9)])}
    assert seen == {Measured.CO, Measured.CO2, Measured.O2, Measured.HC}


def test_refused_options() -> None:
    with pytest.raises(InputFault, match="hydrocarbon factor"):
        gas_options(carbon_factor=7.0)
    with pytest.raises(InputFault, match="unknown analyzer"):
        gas_options(analyzer_class="class_9")
    with pytest.raises(InputFault, match="unknown fuel"):
        gas_options(fuel="tea")


def test_observations_carry_value_doubt_and_place() -> None:
    found = {one.measured: one for one in observations([gas(0.94, 14.5, 0.65, 273.0)])}
    assert found[Measured.CO].value == pytest.approx(0.0094)
    assert found[Measured.GAS_LAMBDA].value == pytest.approx(0.9905, abs=2e-3)
    assert 0.002 < found[Measured.GAS_LAMBDA].uncertainty < 0.01
    assert found[Measured.HC].source == "gas.csv, row 2, hc"


def test_a_blend_is_named_as_a_pump_names_it() -> None:
    # stoichiometric ratio of E10 is 13.987 (Cantera)
    assert gas_options("E10").fuel.stoichiometric_ratio == pytest.approx(13.987, abs=0.01)
    assert gas_options("e85").fuel.oxygen_to_carbon > 0.3
    with pytest.raises(InputFault, match="ethanol content"):
        gas_options("E130")
