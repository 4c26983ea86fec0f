"""Exhaust gas of a fuel burned at a given lambda: atoms balanced, water gas frozen, faults mixed in.

Amounts inside are moles per mole of carbon in the fuel; the result is by volume of dry gas.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from dwellwright.physics.checks import require_fraction, require_not_negative
from dwellwright.physics.fuel import Fuel

WATER_GAS_CONSTANT = 3.5
"""CO H2O / (CO2 H2) frozen in exhaust gas: Brettschneider 1979; Spindt 1965. [-]"""
HEXANE_CARBON = 6.0
"""Carbon atoms of the molecule that hydrocarbon readings are named after. [-]"""
TYPICAL_MIXING_SPREAD = 0.04
"""One-sigma relative spread of fuel between charges in a carbureted engine; assumed. [-]"""
HEALTHY_UNBURNED = 0.008
"""Share of the charge that a healthy warm engine leaves unburned (crevices, quench); assumed. [-]"""
LEANEST, RICHEST = 3.0, 0.55
"""Lambda range accepted: below it the water-gas balance runs out of oxygen, above it nothing burns. [-]"""
PARCELS = 16
"""Equal shares of air that stand for the spread of mixture. [-]"""


def _unit_spread(count: int) -> tuple[float, ...]:
    """Mid-quantiles of the normal distribution, scaled to variance 1."""
    raw = [NormalDist().inv_cdf((index + 0.5) / count) for index in range(count)]
    scale = sqrt(sum(value * value for value in raw) / count)
    return tuple(value / scale for value in raw)


SPREAD_NODES = _unit_spread(PARCELS)


@dataclass(frozen=True)
class ExhaustGas:
    """Composition by volume of dry gas, and what a dry reading cannot show.

    Args:
        carbon_monoxide, carbon_dioxide, oxygen, hydrogen: mole fractions of dry gas. [-]
        hydrocarbon: mole fraction of dry gas, counted as hexane. [-]
        inert: nitrogen and argon, mole fraction of dry gas. [-]
        water: moles per mole of dry gas. [-]
        balance_lambda: oxygen offered over oxygen needed in this very gas, false air included. [-]
        dry_moles: dry gas per mole of carbon in the fuel. [-]
    """

    carbon_monoxide: float
    carbon_dioxide: float
    oxygen: float
    hydrocarbon: float
    hydrogen: float
    inert: float
    water: float
    balance_lambda: float
    dry_moles: float

    def hydrocarbon_reading(self, carbon_factor: float) -> float:
        """What an analyzer shows that sees one molecule per that many carbon atoms. [-]

        Args:
            carbon_factor: 6 for a true hexane reading, 12 for infrared, which misses about half. [-]
        """
        return self.hydrocarbon * HEXANE_CARBON / carbon_factor


def rich_monoxide(oxygen_deficit: float, hydrogen_pool: float, water_gas: float) -> float:
    """Moles of CO per mole of carbon when that many oxygen atoms are missing. [-]

    The root of the water-gas quadratic that vanishes with the deficit.

    Args:
        oxygen_deficit: oxygen atoms short of complete combustion; CO plus H2. [-]
        hydrogen_pool: H2 plus H2O. [-]
        water_gas: CO H2O / (CO2 H2). [-]
    """
    half = hydrogen_pool - oxygen_deficit + water_gas * (1.0 + oxygen_deficit)
    root = half * half + 4.0 * (1.0 - water_gas) * water_gas * oxygen_deficit
    return 2.0 * water_gas * oxygen_deficit / (half + sqrt(root))


def burned_gas(
    lambda_: float,
    hydrogen_to_carbon: float,
    oxygen_to_carbon: float,
    mixing_spread: float,
    humidity: float,
    water_gas: float,
) -> tuple[float, float, float, float, float]:
    """CO, CO2, O2, H2, H2O of the whole charge burned, per mole of carbon. [-]

    Parcels of equal air and unequal fuel, so that the mean lambda stays what it was; each burns completely but
    for the water gas. Calls nothing, so that it compiles as it stands.

    Args:
        lambda_: of the charge. [-]
        hydrogen_to_carbon: atoms in the fuel. [-]
        oxygen_to_carbon: atoms in the fuel. [-]
        mixing_spread: one-sigma relative spread of fuel between the parcels. [-]
        humidity: moles of water per mole of dry intake air. [-]
        water_gas: CO H2O / (CO2 H2). [-]
    """
    demand = 1.0 + 0.25 * hydrogen_to_carbon - 0.5 * oxygen_to_carbon
    offered = lambda_ * demand
    moisture = humidity * offered / 0.209476
    carbon_monoxide, oxygen, hydrogen = 0.0, 0.0, 0.0
    for node in SPREAD_NODES:
        fuel = 1.0 + mixing_spread * node
        surplus = offered - demand * fuel
        if surplus >= 0.0:
            oxygen += surplus / 16.0
            continue
        # the root of rich_monoxide, for this parcel's fuel
        deficit = -2.0 * surplus / fuel
        pool = 0.5 * hydrogen_to_carbon + moisture / fuel
        half = pool - deficit + water_gas * (1.0 + deficit)
        root = half * half + 4.0 * (1.0 - water_gas) * water_gas * deficit
        made = 2.0 * water_gas * deficit / (half + sqrt(root))
        carbon_monoxide += fuel * made / 16.0
        hydrogen += fuel * (deficit - made) / 16.0
    water = 0.5 * hydrogen_to_carbon + moisture - hydrogen
    return carbon_monoxide, 1.0 - carbon_monoxide, oxygen, hydrogen, water


def sampled_gas(
    burned: tuple[float, float, float, float, float],
    lambda_: float,
    hydrogen_to_carbon: float,
    oxygen_to_carbon: float,
    misfire: float,
    false_air: float,
    air_injection: float,
    burnout: float,
    humidity: float,
) -> tuple[float, float, float, float, float, float, float, float, float]:
    """The fields of `ExhaustGas` in order, from `burned_gas` and what goes wrong on the way to the probe.

    Calls nothing, so that it compiles as it stands. Arguments as in `gas_composition`.
    """
    demand = 1.0 + 0.25 * hydrogen_to_carbon - 0.5 * oxygen_to_carbon
    offered, fired = lambda_ * demand, 1.0 - misfire
    co, co2, h2 = burned[0] * fired, burned[1] * fired, burned[3] * fired
    o2 = burned[2] * fired + offered * (misfire + air_injection)
    water = burned[4] * fired + humidity * offered / 0.209476 * misfire
    unburned = misfire
    need = 0.5 * (co + h2) + unburned * demand
    if need > 0.0 and burnout > 0.0:
        share = min(burnout, o2 / need)
        co2 += share * (co + unburned)
        water += share * (h2 + 0.5 * hydrogen_to_carbon * unburned)
        o2 = max(o2 - share * need, 0.0)
        co, h2, unburned = co * (1.0 - share), h2 * (1.0 - share), unburned * (1.0 - share)
    inert = offered * (1.0 / 0.209476 - 1.0) * (1.0 + air_injection)
    gas = co + co2 + o2 + h2 + unburned / 6.0 + inert
    dry = gas / (1.0 - false_air)
    leak = dry - gas
    balance = (offered * (1.0 + air_injection) + leak * 0.209476) / demand
    o2 += leak * 0.209476
    inert += leak * (1.0 - 0.209476)
    return (
        co / dry,
        co2 / dry,
        o2 / dry,
        unburned / 6.0 / dry,
        h2 / dry,
        inert / dry,
        water / dry,
        balance,
        dry,
    )


def _checked(
    lambda_: float, misfire: float, false_air: float, spread: float, injection: float, humidity: float
) -> None:
    if not RICHEST <= lambda_ <= LEANEST:
        raise ValueError(f"lambda must lie from {RICHEST} to {LEANEST}, got {lambda_}")
    require_fraction("misfire share", misfire)
    require_not_negative("injected air over engine air", injection, "kg/kg")
    require_not_negative("humidity", humidity, "mol/mol")
    if not 0.0 <= false_air < 1.0:
        raise ValueError(f"false air share must be at least 0 and below 1, got {false_air}")
    if not 0.0 <= spread <= 0.2:
        raise ValueError(f"mixing spread must lie from 0 to 0.2, got {spread}")
    if lambda_ / (1.0 + spread * SPREAD_NODES[-1]) < 0.5:
        raise ValueError(f"lambda {lambda_} with mixing spread {spread} leaves parcels richer than 0.5")


def gas_composition(
    lambda_: float,
    fuel: Fuel,
    misfire: float = 0.0,
    false_air: float = 0.0,
    *,
    mixing_spread: float = 0.0,
    air_injection: float = 0.0,
    burnout: float = 0.0,
    humidity: float = 0.0,
    water_gas: float = WATER_GAS_CONSTANT,
) -> ExhaustGas:
    """Exhaust gas of a warm engine without converter.

    Complete combustion but for the water gas, so with no spread CO and O2 never stand side by side; a real
    engine needs `mixing_spread` (say `TYPICAL_MIXING_SPREAD`) and `misfire` (at least `HEALTHY_UNBURNED`) for
    that. Nitric oxide (below 0.3 %) is left out.

    Args:
        lambda_: of the charge. [-]
        fuel: what is burned.
        misfire: share of the charge, fuel and air, that leaves unburned. [-]
        false_air: share of the dry gas sampled that is air from a leak in the exhaust. [-]
        mixing_spread: one-sigma relative spread of fuel between equal charges of air. [-]
        air_injection: air put into the exhaust over air taken by the engine. [-]
        burnout: share of what can burn that does so in the exhaust pipe. [-]
        humidity: moles of water per mole of dry intake air. [-]
        water_gas: frozen CO H2O / (CO2 H2). [-]

    Raises:
        ValueError: an argument outside its range.

    References:
        [1] R. S. Spindt, SAE 650507, 1965. [2] J. Brettschneider, Bosch Techn. Ber. 6(4), 1979, 177-186.
    """
    _checked(lambda_, misfire, false_air, mixing_spread, air_injection, humidity)
    require_fraction("burnout", burnout)
    atoms = fuel.hydrogen_to_carbon, fuel.oxygen_to_carbon
    burned = burned_gas(lambda_, *atoms, mixing_spread, humidity, water_gas)
    return ExhaustGas(
        *sampled_gas(burned, lambda_, *atoms, misfire, false_air, air_injection, burnout, humidity)
    )
