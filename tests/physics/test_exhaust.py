"""Gas and lambda: against Cantera's equilibrium, atom balances, the two published formulas, refusals."""

from functools import lru_cache

import cantera
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dwellwright.catalogue.fuels import ethanol_blend
from dwellwright.physics import exhaust
from dwellwright.physics.combustion import (
    HEALTHY_UNBURNED,
    SPREAD_NODES,
    TYPICAL_MIXING_SPREAD,
    ExhaustGas,
    burned_gas,
    gas_composition,
    rich_monoxide,
)
from dwellwright.physics.exhaust import GasReading, brettschneider_lambda, measured_lambda, spindt_ratio
from dwellwright.physics.fuel import AIR_OXYGEN, Fuel

GASOLINE = ethanol_blend(0.0)
LAMBDAS = st.floats(0.75, 1.4)
ETHANOL = st.sampled_from([0.0, 0.1, 0.15, 0.85])
WATER_GAS_TEMPERATURE = 1720.97  # where Cantera's water-gas constant is 3.5


@lru_cache
def mixture() -> cantera.Solution:
    """Only the species of the balance: no radicals, no nitric oxide."""
    wanted = ("H2", "O2", "H2O", "CO", "CO2", "N2", "AR", "C2H2")
    species = [s for s in cantera.Species.list_from_file("gri30.yaml") if s.name in wanted]
    return cantera.Solution(thermo="ideal-gas", species=species)


def equilibrium_gas(
    gas: cantera.Solution, lambda_: float, fuel: Fuel, temperature: float, misfire: float = 0.0
) -> dict[str, float]:
    """Moles per mole of dry gas burned at a temperature, with unburned fuel and its air put in afterward."""
    h, o = fuel.hydrogen_to_carbon, fuel.oxygen_to_carbon
    offered = lambda_ * (1 + h / 4 - o / 2)
    inert = offered / AIR_OXYGEN
    gas.TPX = temperature, cantera.one_atm, {
        "C2H2": 0.5, "H2": (h - 1) / 2, "O2": offered + o / 2, "N2": inert * 0.78084, "AR": inert * 0.009684,
    }  # fmt: skip
    gas.equilibrate("TP")
    moles = dict(zip(gas.species_names, gas.X, strict=True))
    scale = (1 - misfire) / (moles["CO"] + moles["CO2"] + 2 * moles.get("C2H2", 0.0))
    out = {name: amount * scale for name, amount in moles.items()}
    out["O2"] += misfire * offered
    out["HC"] = misfire
    out["N2"] += misfire * inert * 0.78084
    out["AR"] += misfire * inert * 0.009684
    dry = sum(amount for name, amount in out.items() if name not in ("H2O", "HC")) + misfire / 6
    return {name: amount / dry for name, amount in out.items()}


def reading_of(gas: ExhaustGas, factor: float = 6.0) -> GasReading:
    return GasReading(gas.carbon_monoxide, gas.carbon_dioxide, gas.oxygen, gas.hydrocarbon_reading(factor))


# dry percent on file: Cantera, frozen at K = 3.5, H/C 1.85
ON_FILE = {
    0.85: (5.62294, 11.60925, 1.93769, 0.0),
    0.95: (1.81010, 14.12575, 0.52062, 0.0),
    1.05: (0.01306, 14.54667, 0.00345, 1.07294),
    1.15: (0.00717, 13.20980, 0.00190, 2.90401),
}


@pytest.mark.parametrize("lambda_", ON_FILE)
def test_lambda_of_equilibrium_gas_is_found_again(lambda_: float) -> None:
    gas = equilibrium_gas(mixture(), lambda_, GASOLINE, WATER_GAS_TEMPERATURE)
    dry = 100 * gas["CO"], 100 * gas["CO2"], 100 * gas["H2"], 100 * gas["O2"]
    # the file's air is slightly different, hence 2e-4 relative
    assert dry == pytest.approx(ON_FILE[lambda_], rel=3e-4, abs=1e-4)
    water_gas = gas["CO"] * gas["H2O"] / (gas["CO2"] * gas["H2"])
    assert water_gas == pytest.approx(3.5, rel=1e-4)
    reading = GasReading(gas["CO"], gas["CO2"], gas["O2"], 0.0)
    found = measured_lambda(reading, GASOLINE, 6.0, water_gas=water_gas)
    assert found == pytest.approx(lambda_, abs=1e-9)
    assert measured_lambda(reading, GASOLINE, 6.0) == pytest.approx(lambda_, abs=1e-6)


@pytest.mark.parametrize("ethanol", [0.0, 0.10, 0.85])
@pytest.mark.parametrize("lambda_", [0.80, 0.90, 0.97, 1.03, 1.20])
def test_oxygenated_fuels_are_balanced_with_their_own_atoms(ethanol: float, lambda_: float) -> None:
    fuel = ethanol_blend(ethanol)
    gas = equilibrium_gas(mixture(), lambda_, fuel, WATER_GAS_TEMPERATURE)
    reading = GasReading(gas["CO"], gas["CO2"], gas["O2"], 0.0)
    assert measured_lambda(reading, fuel, 6.0) == pytest.approx(lambda_, abs=2e-6)
    made = gas_composition(lambda_, fuel)
    got = (made.carbon_monoxide, made.carbon_dioxide, made.hydrogen, made.oxygen)
    # the forward gas is complete on the lean side; equilibrium leaves up to 0.02 % CO there
    assert got == pytest.approx((gas["CO"], gas["CO2"], gas["H2"], gas["O2"]), abs=3e-4)


@pytest.mark.parametrize("lambda_", [0.85, 0.92, 1.08, 1.15])
def test_real_gas_with_radicals_and_nitric_oxide_stays_within_the_stated_error(lambda_: float) -> None:
    # on file: full GRI gas at 1700 K, error within 0.11 %
    gas = equilibrium_gas(cantera.Solution("gri30.yaml"), lambda_, GASOLINE, 1700.0)
    reading = GasReading(gas["CO"], gas["CO2"], gas["O2"], 0.0, gas["NO"])
    assert measured_lambda(reading, GASOLINE, 6.0) == pytest.approx(lambda_, rel=1.1e-3)


def test_gas_frozen_colder_reads_lean_on_the_rich_side() -> None:
    # on file: at 1300 K lambda .90 reads .917 (Cantera); the budget constant covers it
    gas = equilibrium_gas(mixture(), 0.90, GASOLINE, 1300.0)
    found = measured_lambda(GasReading(gas["CO"], gas["CO2"], gas["O2"], 0.0), GASOLINE, 6.0)
    assert found == pytest.approx(0.917, abs=1e-3)
    assert 0.5 < (found - 0.90) / exhaust.FROZEN_GAS_ERROR < 2.0


def test_misfire_on_file() -> None:
    made = gas_composition(0.95, GASOLINE, misfire=0.02)
    # on file (Cantera): CO 1.7663 CO2 13.7836 O2 .4410 HC 529 ppm; there every unburned carbon counts as 0.925 of a
    # mole of dry gas, here as a sixth (hexane), hence 0.3 %
    got = [100 * v for v in (made.carbon_monoxide, made.carbon_dioxide, made.oxygen)]
    assert got == pytest.approx([1.7663, 13.7836, 0.4410], rel=3e-3)
    assert 1e6 * made.hydrocarbon == pytest.approx(529, rel=3e-3)
    assert measured_lambda(reading_of(made), GASOLINE, 6.0) == pytest.approx(0.95, abs=1e-9)


def test_misfire_against_cantera() -> None:
    gas = equilibrium_gas(mixture(), 0.93, GASOLINE, WATER_GAS_TEMPERATURE, misfire=0.03)
    made = gas_composition(0.93, GASOLINE, misfire=0.03)
    got = (made.carbon_monoxide, made.carbon_dioxide, made.oxygen, made.hydrocarbon)
    assert got == pytest.approx((gas["CO"], gas["CO2"], gas["O2"], gas["HC"] / 6), rel=1e-4)


@pytest.mark.parametrize(("true", "apparent"), [(1.00, 1.04917), (0.95, 0.99731)])
def test_false_air_on_file(true: float, apparent: float) -> None:
    # on file (Cantera): 5 % dry false air
    made = gas_composition(true, GASOLINE, false_air=0.05)
    assert made.balance_lambda == pytest.approx(apparent, abs=5e-5)
    assert measured_lambda(reading_of(made), GASOLINE, 6.0) == pytest.approx(apparent, abs=5e-5)


@settings(max_examples=60)
@given(
    lambda_=LAMBDAS, ethanol=ETHANOL, misfire=st.floats(0.0, 0.3), leak=st.floats(0.0, 0.4),
    spread=st.floats(0.0, 0.08), injected=st.floats(0.0, 0.5), burnout=st.floats(0.0, 1.0),
)  # fmt: skip
def test_atoms_close_whatever_is_wrong(
    lambda_: float,
    ethanol: float,
    misfire: float,
    leak: float,
    spread: float,
    injected: float,
    burnout: float,
) -> None:
    fuel = ethanol_blend(ethanol)
    gas = gas_composition(
        lambda_,
        fuel,
        misfire,
        leak,
        mixing_spread=spread,
        air_injection=injected,
        burnout=burnout,
        humidity=0.012,
    )
    dry = gas.dry_moles
    unburned = 6 * gas.hydrocarbon
    carbon = (gas.carbon_monoxide + gas.carbon_dioxide + unburned) * dry
    assert carbon == pytest.approx(1.0, rel=1e-9)
    parts = (gas.carbon_monoxide, gas.carbon_dioxide, gas.oxygen, gas.hydrocarbon, gas.hydrogen, gas.inert)
    assert sum(parts) == pytest.approx(1.0, rel=1e-9)
    assert min(parts) >= 0.0
    offered = lambda_ * fuel.oxygen_demand
    intake_water = 0.012 * offered / AIR_OXYGEN
    hydrogen = (gas.hydrogen + gas.water) * dry + unburned * dry * fuel.hydrogen_to_carbon / 2
    assert hydrogen == pytest.approx(fuel.hydrogen_to_carbon / 2 + intake_water, rel=1e-9)
    oxygen = (gas.carbon_monoxide + 2 * gas.carbon_dioxide + 2 * gas.oxygen + gas.water) * dry
    oxygen += unburned * dry * fuel.oxygen_to_carbon
    leaked = gas.balance_lambda * fuel.oxygen_demand - offered * (1 + injected)
    supplied = 2 * (offered * (1 + injected) + leaked) + fuel.oxygen_to_carbon + intake_water
    assert oxygen == pytest.approx(supplied, rel=1e-9)
    inert = (offered * (1 + injected) + leaked) / AIR_OXYGEN * (1 - AIR_OXYGEN)
    assert gas.inert * dry == pytest.approx(inert, rel=1e-9)


@given(lambda_=LAMBDAS, ethanol=ETHANOL, misfire=st.floats(0.0, 0.2), leak=st.floats(0.0, 0.2))
def test_forward_and_back(lambda_: float, ethanol: float, misfire: float, leak: float) -> None:
    # two routes: the balance kept going forward, and Brettschneider on the dry gas
    fuel = ethanol_blend(ethanol)
    gas = gas_composition(lambda_, fuel, misfire, leak)
    assert measured_lambda(reading_of(gas), fuel, 6.0) == pytest.approx(gas.balance_lambda, abs=1e-9)
    assert measured_lambda(reading_of(gas, 12.0), fuel, 12.0) == pytest.approx(gas.balance_lambda, abs=1e-9)


@given(lambda_=LAMBDAS, humidity=st.floats(0.0, 0.04))
def test_humidity_is_balanced_too(lambda_: float, humidity: float) -> None:
    gas = gas_composition(lambda_, GASOLINE, humidity=humidity)
    found = measured_lambda(reading_of(gas), GASOLINE, 6.0, humidity=humidity)
    assert found == pytest.approx(lambda_, abs=1e-9)


def test_the_wrong_hydrocarbon_factor_reads_lean() -> None:
    # infrared sees half the carbon: taking its reading as complete leaves fuel out, so lambda reads high
    gas = gas_composition(0.95, GASOLINE, misfire=0.02)
    seen = reading_of(gas, exhaust.INFRARED_CARBON_FACTOR)
    assert measured_lambda(seen, GASOLINE, 12.0) == pytest.approx(0.95, abs=1e-9)
    assert measured_lambda(seen, GASOLINE, 6.0) == pytest.approx(0.95 * 1.0101, abs=1e-3)


def test_a_healthy_engine_near_lambda_one_shows_the_usual_gas() -> None:
    # common practice, no source: before a converter CO 0.4-1 %, O2 0.4-1 %, CO2 14-15 %, HC 80-300 ppm
    gas = gas_composition(1.0, GASOLINE, HEALTHY_UNBURNED, mixing_spread=TYPICAL_MIXING_SPREAD)
    assert 0.004 < gas.carbon_monoxide < 0.010
    assert 0.004 < gas.oxygen < 0.010
    assert 0.14 < gas.carbon_dioxide < 0.15
    assert 80e-6 < gas.hydrocarbon < 300e-6


@given(spread=st.floats(0.001, 0.08), lambda_=st.floats(0.9, 1.1))
def test_spread_makes_monoxide_and_oxygen_stand_side_by_side(spread: float, lambda_: float) -> None:
    sharp, spread_out = (
        gas_composition(lambda_, GASOLINE),
        gas_composition(lambda_, GASOLINE, mixing_spread=spread),
    )
    assert spread_out.oxygen >= sharp.oxygen * (1 - 1e-9)
    assert spread_out.balance_lambda == pytest.approx(lambda_)
    # the lambda read from mixed gas is off only by the water gas of unequal parcels
    assert measured_lambda(reading_of(spread_out), GASOLINE, 6.0) == pytest.approx(lambda_, abs=4e-3)


@given(
    deficit=st.floats(1e-6, 0.9), pool=st.floats(0.6, 1.6), water_gas=st.sampled_from([0.5, 1.0, 3.5, 6.0])
)
def test_rich_gas_obeys_the_water_gas_law(deficit: float, pool: float, water_gas: float) -> None:
    # closed form: the definition of the constant
    made = rich_monoxide(min(deficit, pool), pool, water_gas)
    hydrogen = min(deficit, pool) - made
    assert 0.0 <= made <= 1.0
    assert made * (pool - hydrogen) == pytest.approx(water_gas * (1 - made) * hydrogen, rel=1e-8, abs=1e-15)


def test_one_parcel_is_the_plain_water_gas_balance() -> None:
    burned = burned_gas(0.9, 1.85, 0.0, 0.0, 0.0, 3.5)
    assert burned[0] == pytest.approx(rich_monoxide(0.2 * 1.4625, 0.925, 3.5), rel=1e-12)


def test_spread_gas_is_the_mean_of_its_parcels() -> None:
    # two routes: the law with a spread, and each parcel burned alone at its own lambda with the same moist air
    burned = burned_gas(0.97, 1.85, 0.0, 0.05, 0.03, 3.5)
    shares = [1.0 + 0.05 * node for node in SPREAD_NODES]
    alone = [burned_gas(0.97 / share, 1.85, 0.0, 0.0, 0.03, 3.5) for share in shares]
    for index in range(5):
        mean = sum(share * parcel[index] for share, parcel in zip(shares, alone, strict=True)) / len(shares)
        assert burned[index] == pytest.approx(mean, rel=1e-12)
    # the nodes stand for a normal distribution: mean 0, variance 1
    assert sum(SPREAD_NODES) == pytest.approx(0.0, abs=1e-12)
    assert sum(node**2 for node in SPREAD_NODES) / len(SPREAD_NODES) == pytest.approx(1.0)


def test_no_spread_is_the_limit_of_little_spread() -> None:
    sharp, nearly = gas_composition(0.93, GASOLINE), gas_composition(0.93, GASOLINE, mixing_spread=1e-5)
    assert nearly.carbon_monoxide == pytest.approx(sharp.carbon_monoxide, rel=1e-6)


def test_injected_air_burns_out_what_it_can() -> None:
    cold = gas_composition(0.9, GASOLINE, 0.01, air_injection=0.3)
    hot = gas_composition(0.9, GASOLINE, 0.01, air_injection=0.3, burnout=1.0)
    assert hot.carbon_monoxide == hot.hydrogen == hot.hydrocarbon == 0.0
    assert cold.balance_lambda == hot.balance_lambda == pytest.approx(0.9 * 1.3)
    starved = gas_composition(0.8, GASOLINE, 0.01, air_injection=0.02, burnout=1.0)
    assert starved.oxygen == 0.0
    assert starved.carbon_monoxide > 0.0
    plain = gas_composition(1.1, GASOLINE, burnout=1.0)
    assert plain == gas_composition(1.1, GASOLINE)


def test_injected_air_trips_the_dilution_check() -> None:
    # 40 CFR 85.2213: below 6 % CO plus CO2 the sample is void
    sound = gas_composition(1.0, GASOLINE)
    diluted = gas_composition(1.0, GASOLINE, false_air=0.65)
    assert not exhaust.is_diluted(reading_of(sound))
    assert exhaust.is_diluted(reading_of(diluted))
    assert not exhaust.is_diluted(GasReading(0.01, 0.05, 0.0, 0.0))


@given(lambda_=LAMBDAS, misfire=st.floats(0.0, 0.1))
def test_spindt_agrees_with_the_stoichiometric_ratio(lambda_: float, misfire: float) -> None:
    # the same atom balance arranged otherwise: exact here, and within 0.15 % with the printed constants (next test)
    gas = gas_composition(lambda_, GASOLINE, misfire)
    got = spindt_ratio(reading_of(gas), GASOLINE, 6.0)
    assert got == pytest.approx(lambda_ * GASOLINE.stoichiometric_ratio, rel=1e-9)


def test_spindt_with_its_printed_constants() -> None:
    # Spindt 1965 as printed (from memory): Fb [11.492 Fc (1 + R/2 + Q)/(1 + R) + 120 (1 - Fc)/(3.5 + R)]
    gas = reading_of(gas_composition(0.93, GASOLINE, 0.005, mixing_spread=0.03))
    r, q = gas.carbon_monoxide / gas.carbon_dioxide, gas.oxygen / gas.carbon_dioxide
    carbon = GASOLINE.carbon_mass_share
    oxides = gas.carbon_monoxide + gas.carbon_dioxide
    burned = oxides / (oxides + 6 * gas.hydrocarbon)
    printed = burned * (11.492 * carbon * (1 + r / 2 + q) / (1 + r) + 120 * (1 - carbon) / (3.5 + r))
    assert spindt_ratio(gas, GASOLINE, 6.0) == pytest.approx(printed, rel=1.5e-3)


def test_brettschneider_in_percent_or_fractions_is_the_same() -> None:
    # symmetry: only ratios of the gases count
    one = brettschneider_lambda(0.01, 0.14, 0.005, 1e-4, 1e-3, 1.85, 0.0, 6.0, 0.0, 3.5)
    other = brettschneider_lambda(1.0, 14.0, 0.5, 1e-2, 0.1, 1.85, 0.0, 6.0, 0.0, 3.5)
    assert one == pytest.approx(other, rel=1e-12)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"lambda_": 0.3}, r"lambda must lie from 0\.55 to 3\.0, got 0\.3"),
        ({"lambda_": float("nan")}, "lambda must lie from"),
        ({"misfire": 1.5}, r"misfire share must lie from 0 to 1, got 1\.5"),
        ({"false_air": 1.0}, r"false air share must be at least 0 and below 1, got 1\.0"),
        ({"mixing_spread": 0.5}, r"mixing spread must lie from 0 to 0\.2, got 0\.5"),
        ({"lambda_": 0.6, "mixing_spread": 0.2}, r"leaves parcels richer than 0\.5"),
        ({"air_injection": -1.0}, "injected air over engine air must be zero or more"),
        ({"humidity": -0.1}, "humidity must be zero or more"),
        ({"burnout": 2.0}, "burnout must lie from 0 to 1"),
    ],
)
def test_impossible_combustion_is_refused(change: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        gas_composition(**({"lambda_": 1.0, "fuel": GASOLINE} | change))


@pytest.mark.parametrize(
    ("reading", "factor", "message"),
    [
        ((0.01, 0.0, 0.0, 0.0), 6.0, "CO2 must be above zero"),
        ((0.01, 0.14, 0.0, 0.0), 8.0, r"carbon factor must be 6 \(hexane\) or 12 \(infrared\), got 8\.0"),
    ],
)
def test_unusable_readings_are_refused(reading: tuple[float, ...], factor: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        measured_lambda(GasReading(*reading), GASOLINE, factor)
    with pytest.raises(ValueError, match=message):
        spindt_ratio(GasReading(*reading), GASOLINE, factor)


def test_impossible_readings_are_refused() -> None:
    with pytest.raises(ValueError, match=r"CO2 must lie from 0 to 1, got 14\.6"):
        GasReading(0.01, 14.6, 0.0, 0.0)
    with pytest.raises(ValueError, match="O2 must lie from 0 to 1, got nan"):
        GasReading(0.01, 0.146, float("nan"), 0.0)
    with pytest.raises(ValueError, match=r"the gases add up to 1\.100 of the sample"):
        GasReading(0.5, 0.5, 0.1, 0.0)
