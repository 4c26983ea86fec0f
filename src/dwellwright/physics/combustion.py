"""Exhaust gas of a fuel burned at a given lambda: atoms balanced, water gas frozen, faults mixed in.

Amounts inside are moles per mole of carbon in the fuel; the result is by volume of dry gas.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from dwellwright.physics.checks import require_fraction, require_not_negative
from dwellwright.physics.fuel import AIR_OXYGEN, Fuel

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
INERT_PER_OXYGEN = (1.0 - AIR_OXYGEN) / AIR_OXYGEN
"""Moles of nitrogen, argon and the rest of dry air per mole of oxygen. [-]"""


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


@dataclass(frozen=True)
class _Moles:
    """Moles per mole of fuel carbon; hydrocarbon by its carbon."""

    co: float
    co2: float
    o2: float
    hc: float
    h2: float
    h2o: float


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


def _parcel(lambda_: float, fuel: Fuel, humidity: float, water_gas: float) -> _Moles:
    """Complete combustion of one uniform parcel."""
    offered = lambda_ * fuel.oxygen_demand
    pool = 0.5 * fuel.hydrogen_to_carbon + humidity * offered / AIR_OXYGEN
    if lambda_ >= 1.0:
        return _Moles(0.0, 1.0, offered - fuel.oxygen_demand, 0.0, 0.0, pool)
    deficit = 2.0 * (fuel.oxygen_demand - offered)
    co = rich_monoxide(deficit, pool, water_gas)
    return _Moles(co, 1.0 - co, 0.0, 0.0, deficit - co, pool - deficit + co)


def _mixed(lambda_: float, fuel: Fuel, spread: float, humidity: float, water_gas: float) -> _Moles:
    """Parcels of equal air and unequal fuel, so that the mean stays what it was."""
    if spread == 0.0:
        return _parcel(lambda_, fuel, humidity, water_gas)
    total = [0.0] * 6
    for node in SPREAD_NODES:
        share = 1.0 + spread * node
        burned = _parcel(lambda_ / share, fuel, humidity, water_gas)
        values = (burned.co, burned.co2, burned.o2, burned.hc, burned.h2, burned.h2o)
        total = [sum_ + share * value / PARCELS for sum_, value in zip(total, values, strict=True)]
    return _Moles(*total)


def _burned_out(gas: _Moles, fuel: Fuel, share: float) -> _Moles:
    """That share of everything combustible oxidized in the pipe, as far as the oxygen goes."""
    need = 0.5 * (gas.co + gas.h2) + gas.hc * fuel.oxygen_demand
    if need <= 0.0:
        return gas
    share = min(share, gas.o2 / need)
    return _Moles(
        co=gas.co * (1.0 - share),
        co2=gas.co2 + share * (gas.co + gas.hc),
        o2=max(gas.o2 - share * need, 0.0),
        hc=gas.hc * (1.0 - share),
        h2=gas.h2 * (1.0 - share),
        h2o=gas.h2o + share * (gas.h2 + 0.5 * fuel.hydrogen_to_carbon * gas.hc),
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
    burned = _mixed(lambda_, fuel, mixing_spread, humidity, water_gas)
    offered, fired = lambda_ * fuel.oxygen_demand, 1.0 - misfire
    gas = _Moles(
        co=burned.co * fired,
        co2=burned.co2 * fired,
        o2=burned.o2 * fired + offered * (misfire + air_injection),
        hc=burned.hc * fired + misfire,
        h2=burned.h2 * fired,
        h2o=burned.h2o * fired + humidity * offered / AIR_OXYGEN * misfire,
    )
    inert = offered * INERT_PER_OXYGEN * (1.0 + air_injection)
    gas = _burned_out(gas, fuel, burnout)
    dry = gas.co + gas.co2 + gas.o2 + gas.h2 + gas.hc / HEXANE_CARBON + inert
    leak = dry * false_air / (1.0 - false_air)
    supplied = offered * (1.0 + air_injection) + leak * AIR_OXYGEN
    return _dry_fractions(gas, inert, leak, dry + leak, supplied / fuel.oxygen_demand)


def _dry_fractions(gas: _Moles, inert: float, leak: float, dry: float, balance: float) -> ExhaustGas:
    return ExhaustGas(
        carbon_monoxide=gas.co / dry,
        carbon_dioxide=gas.co2 / dry,
        oxygen=(gas.o2 + leak * AIR_OXYGEN) / dry,
        hydrocarbon=gas.hc / HEXANE_CARBON / dry,
        hydrogen=gas.h2 / dry,
        inert=(inert + leak * (1.0 - AIR_OXYGEN)) / dry,
        water=gas.h2o / dry,
        balance_lambda=balance,
        dry_moles=dry,
    )
