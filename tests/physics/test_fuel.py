"""Fuels: stoichiometry against Cantera and `chemicals`, properties against CoolProp, blends, refusals."""

from importlib.resources import files

import cantera
import chemicals
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.catalogue.fuels import ethanol_blend, fuel_named, fuels_from_toml, shipped_fuels
from dwellwright.errors import InputFault
from dwellwright.physics import fuel as fuels
from dwellwright.physics.fuel import Fuel, blend

PURE = {"ethanol": "Ethanol", "n_heptane": "n-Heptane", "toluene": "Toluene"}
ATOMS = {"ethanol": {"C": 2, "H": 6, "O": 1}, "n_heptane": {"C": 7, "H": 16}, "toluene": {"C": 7, "H": 8}}


@pytest.mark.parametrize(
    ("atoms", "expected"),
    [
        ({"C": 8, "H": 18}, 15.13),  # iso-octane; all values here: Cantera and chemicals, on file to 0.003
        ({"C": 2, "H": 6, "O": 1}, 9.003),  # ethanol
        ({"C": 7, "H": 8}, 13.504),  # toluene
        ({"C": 1, "H": 1.85}, 14.574),
        ({"C": 1, "H": 1.9261, "O": 0.0331}, 13.987),  # E10
    ],
)
def test_stoichiometric_ratio(atoms: dict[str, float], expected: float) -> None:
    got = fuels.stoichiometric_ratio(atoms["H"] / atoms["C"], atoms.get("O", 0) / atoms["C"])
    assert got == pytest.approx(expected, abs=3e-3)
    # second reference: oxygen demand from `chemicals`, molar mass from `chemicals`
    demand = -chemicals.combustion_stoichiometry(atoms)["O2"]
    mass = sum(count * chemicals.periodic_table[symbol].MW for symbol, count in atoms.items())
    assert got == pytest.approx(demand / 0.209476 * 28.9644 / mass, rel=1e-4)


def test_stoichiometric_ratio_is_that_of_cantera() -> None:
    # independent library: fuel as C2H2 + H2, air as O2, N2, AR of the standard atmosphere
    gas = cantera.Solution("gri30.yaml")
    air = "O2:0.209476, N2:0.780840, AR:0.009684"
    expected = gas.stoich_air_fuel_ratio("C2H2:0.5, H2:0.425", air)
    assert fuels.stoichiometric_ratio(1.85, 0.0) == pytest.approx(expected, abs=3e-3)


@pytest.mark.parametrize("key", PURE)
@pytest.mark.parametrize("temperature", [255.0, 273.15, 293.15, 313.15, 331.0])
def test_density_and_viscosity_are_those_of_coolprop(key: str, temperature: float) -> None:
    fuel = fuel_named(key)
    density = PropsSI("D", "T", temperature, "P", 101325.0, PURE[key])  # independent library
    viscosity = PropsSI("V", "T", temperature, "P", 101325.0, PURE[key])
    assert fuel.density(temperature) == pytest.approx(density, rel=5e-3)
    assert fuel.viscosity(temperature) == pytest.approx(viscosity, rel=3e-2)


@pytest.mark.parametrize("key", ATOMS)
def test_atoms_of_the_pure_fuels(key: str) -> None:
    atoms, fuel = ATOMS[key], fuel_named(key)
    assert fuel.hydrogen_to_carbon == pytest.approx(atoms["H"] / atoms["C"])
    assert fuel.oxygen_to_carbon == pytest.approx(atoms.get("O", 0) / atoms["C"])
    carbon = chemicals.mass_fractions(atoms)["C"]  # independent library
    assert fuel.carbon_mass_share == pytest.approx(carbon, rel=1e-4)


@pytest.mark.parametrize("key", PURE)
@pytest.mark.parametrize("temperature", [255.0, 331.0])
def test_density_keeps_the_residual_its_source_states(key: str, temperature: float) -> None:
    # the sources in fuels.toml state residuals of 0.03 % at most (CoolProp)
    density = PropsSI("D", "T", temperature, "P", 101325.0, PURE[key])
    assert fuel_named(key).density(temperature) == pytest.approx(density, rel=3.2e-4)


def test_gasoline_expansion_is_that_of_the_trade_law() -> None:
    base = shipped_fuels()["gasoline"].fields
    law = fuels.hydrocarbon_expansion(base["reference_density"].value)
    assert base["expansion"].value == pytest.approx(law, rel=1e-4)
    # sanity from outside: reference hydrocarbons expand by 1.07 to 1.23 per mille per kelvin (CoolProp)
    volumes = [1 / PropsSI("D", "T", t, "P", 101325.0, "n-Octane") for t in (287.15, 289.15)]
    assert law == pytest.approx((volumes[1] - volumes[0]) / 2 / volumes[0], rel=0.08)


def test_e10_and_e0_are_the_blends_on_file() -> None:
    e10 = ethanol_blend(0.10)
    # on file: E10 is (H/C 1.9261, O/C .0331), air demand 13.987; E0 is about 14.6 (common practice)
    assert e10.hydrogen_to_carbon == pytest.approx(1.9261, abs=2e-4)
    assert e10.oxygen_to_carbon == pytest.approx(0.0331, abs=1e-4)
    assert e10.stoichiometric_ratio == pytest.approx(13.987, abs=3e-3)
    assert ethanol_blend(0.0).stoichiometric_ratio == pytest.approx(14.574, abs=3e-3)
    assert ethanol_blend(1.0).stoichiometric_ratio == pytest.approx(9.003, abs=3e-3)


@given(st.floats(0.0, 1.0))
def test_blending_conserves_mass_carbon_and_air_demand(share: float) -> None:
    base, ethanol, mixed = fuel_named("gasoline"), fuel_named("ethanol"), ethanol_blend(share)
    masses = ((1 - share) * base.reference_density, share * ethanol.reference_density)
    total = sum(masses)
    assert mixed.reference_density == pytest.approx(total, rel=1e-12)
    air = (masses[0] * base.stoichiometric_ratio + masses[1] * ethanol.stoichiometric_ratio) / total
    carbon = (masses[0] * base.carbon_mass_share + masses[1] * ethanol.carbon_mass_share) / total
    assert mixed.stoichiometric_ratio == pytest.approx(air, rel=1e-9)
    assert mixed.carbon_mass_share == pytest.approx(carbon, rel=1e-9)


@given(st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_blending_twice_is_blending_once(first: float, second: float) -> None:
    base, ethanol = fuel_named("gasoline"), fuel_named("ethanol")
    stepwise = blend("mix", {ethanol_blend(first): second, base: 1.0 - second})
    once = blend("mix", {ethanol: first * second, base: 1.0 - first * second})
    assert stepwise.oxygen_to_carbon == pytest.approx(once.oxygen_to_carbon, rel=1e-9)
    assert stepwise.reference_viscosity == pytest.approx(once.reference_viscosity, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"reference_density": 0.0}, "fuel density must be a positive number, got 0.0 kg/m³"),
        ({"reference_viscosity": float("nan")}, "fuel viscosity must be a positive number, got nan Pa s"),
        ({"hydrogen_to_carbon": -1.0}, "hydrogen to carbon ratio must be zero or more, got -1.0 atoms"),
        ({"oxygen_to_carbon": 4.0}, "holds more oxygen than it can burn with"),
    ],
)
def test_impossible_fuels_are_refused(change: dict[str, float], message: str) -> None:
    numbers = {
        "hydrogen_to_carbon": 1.85, "oxygen_to_carbon": 0.0, "reference_density": 749.0,
        "expansion": 1.2e-3, "reference_viscosity": 5e-4, "viscosity_activation": 1000.0,
    }  # fmt: skip
    with pytest.raises(ValueError, match=message):
        Fuel("odd", **(numbers | change))


@pytest.mark.parametrize("volumes", [[0.0, 0.0], [-0.1, 1.0], [float("nan"), 1.0]])
def test_impossible_blends_are_refused(volumes: list[float]) -> None:
    with pytest.raises(ValueError, match="parts by volume must be zero or more"):
        blend("odd", dict(zip((fuel_named("gasoline"), fuel_named("ethanol")), volumes, strict=True)))


def test_every_shipped_number_has_a_source() -> None:
    for entry in shipped_fuels().values():
        assert all(number.source and number.spread >= 0 for number in entry.fields.values())


GOOD = 'value = 1.0\nunit = "1"\nspread = 0.0\nsource = "test"\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[a\n", "not valid TOML"),
        ("a = 3\n", "a fuel needs exactly its fields"),
        ('[a]\ntitle = "x"\n', "a fuel needs exactly its fields"),
    ],
)
def test_broken_fuel_lists_are_refused(text: str, message: str) -> None:
    with pytest.raises(InputFault, match=message):
        fuels_from_toml(text, "fuels.toml")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('unit = "kg/m3"', 'unit = "g/cm3"', r"the unit is not the one of this field .*reference_density"),
        ("value = 749.0", "value = nan", "the value is not a finite number"),
        ("value = 749.0", 'value = "749"', "the value is not a finite number"),
        ("value = 749.0", "value = -749.0", "fuel density must be a positive number"),
        ("spread = 10.0", "spread = -1.0", "the spread is negative"),
        ('source = "by definition of the base"', 'source = " "', "the number has no source"),
        ("spread = 10.0\n", "", "a number needs value, unit, spread and source"),
    ],
)
def test_broken_numbers_are_refused(old: str, new: str, message: str) -> None:
    text = files("dwellwright.catalogue").joinpath("data/fuels.toml").read_text(encoding="utf-8")
    assert text.count(old) >= 1
    with pytest.raises(InputFault, match=message):
        fuels_from_toml(text.replace(old, new, 1), "fuels.toml")


def test_unknown_fuels_and_contents_are_refused() -> None:
    with pytest.raises(InputFault, match="unknown fuel"):
        fuel_named("coal")
    with pytest.raises(InputFault, match="ethanol content is not possible"):
        ethanol_blend(1.5)
