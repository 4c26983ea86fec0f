"""Lambda and air-fuel ratio of a gas reading, each with a budget from the analyzer's class and the fuel's doubt."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import sqrt

from dwellwright.catalogue.fuels import ethanol_blend, fuel_named
from dwellwright.catalogue.instruments import Analyzer, GasChannel, analyzer
from dwellwright.errors import InputFault
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.evidence.gauge.budget import Budget, Component, rectangular, resolution
from dwellwright.evidence.gauge.propagate import Input, propagated
from dwellwright.physics.combustion import WATER_GAS_CONSTANT
from dwellwright.physics.exhaust import (
    FROZEN_GAS_ERROR,
    HEXANE_CARBON_FACTOR,
    INFRARED_CARBON_FACTOR,
    brettschneider_lambda,
    is_diluted,
    spindt_ratio,
)
from dwellwright.physics.exhaust import GasReading as DryGas
from dwellwright.physics.fuel import Fuel

DEFAULT_CLASS = "class_1"
"""Analyzer class where nobody says otherwise: a garage's infrared analyzer (assumed)."""

BLEND = re.compile(r"[Ee](\d{1,3})")
"""Gasoline with ethanol, as pumps write it."""
DEFAULT_FUEL = "gasoline"
HYDROGEN_DOUBT = 0.05
"""Standard uncertainty of hydrogen to carbon in pump gasoline; spread of the catalogue's fuel. [-]"""
CARBON_FACTOR_DOUBT = 1.5
"""Standard uncertainty of how many carbon atoms the analyzer counts for each hexane; assumed, between the
full count of 6 and the infrared's 12. [-]"""
FROZEN_FULL_AT = 0.90
"""Lambda at which the frozen-gas error has its full size; it fades to nothing at 1. [-]"""


@dataclass(frozen=True)
class GasOptions:
    """What a gas reading is interpreted with.

    Args:
        fuel: what was burned.
        meter: the analyzer's class.
        carbon_factor: carbon atoms for each molecule of the HC reading, 6 (hexane) or 12 (infrared). [-]
        humidity: moles of water for each mole of dry intake air. [-]
        hydrogen_doubt: standard uncertainty of the fuel's hydrogen to carbon. [-]
        carbon_factor_doubt: standard uncertainty of `carbon_factor`. [-]
    """

    fuel: Fuel
    meter: Analyzer
    carbon_factor: float = HEXANE_CARBON_FACTOR
    humidity: float = 0.0
    hydrogen_doubt: float = HYDROGEN_DOUBT
    carbon_factor_doubt: float = CARBON_FACTOR_DOUBT

    def __post_init__(self) -> None:
        if self.carbon_factor not in (HEXANE_CARBON_FACTOR, INFRARED_CARBON_FACTOR):
            raise InputFault(
                "the hydrocarbon factor is not one known", wanted="6 or 12", got=f"{self.carbon_factor:g}"
            )


def gas_options(
    fuel: str = DEFAULT_FUEL, analyzer_class: str = DEFAULT_CLASS, carbon_factor: float = HEXANE_CARBON_FACTOR
) -> GasOptions:
    """Options by the names in the catalogue; `E10` is gasoline with 10 % of ethanol by volume, and so on.

    Raises:
        InputFault: no such fuel, class or factor.
    """
    mixed = BLEND.fullmatch(fuel.strip())
    burned = ethanol_blend(int(mixed[1]) / 100) if mixed else fuel_named(fuel)
    return GasOptions(burned, analyzer(analyzer_class), carbon_factor)


@dataclass(frozen=True)
class AirRatio:
    """What the gas says of the mixture.

    Args:
        reading: the gas.
        lambda_: by Brettschneider, with its budget. [-]
        air_fuel_ratio: by Spindt, by mass, with its budget. [-]
        by_two_methods: Spindt's ratio over the stoichiometric one, less lambda; both rest on the same gas, so
            more than a few parts in a thousand means bad numbers. [-]
        diluted: CO + CO2 too small for the sample to count.
    """

    reading: GasReading
    lambda_: Budget
    air_fuel_ratio: Budget
    by_two_methods: float
    diluted: bool


def gas_uncertainty(reading: float, channel: GasChannel) -> float:
    """Standard uncertainty of one gas: limit of error, resolution, and the engine's unsteadiness. [-]"""
    parts = (
        rectangular(channel.largest_error(reading)),
        resolution(channel.resolution),
        channel.repeatability_relative * reading,
    )
    return sqrt(sum(part**2 for part in parts))


def _dry(reading: GasReading) -> DryGas:
    return DryGas(reading.co, reading.co2, reading.o2, reading.hc, reading.nox or 0.0)


def _inputs(reading: GasReading, options: GasOptions) -> dict[str, Input]:
    meter = options.meter
    gases = {
        "carbon_monoxide": (reading.co, meter.co),
        "carbon_dioxide": (reading.co2, meter.co2),
        "oxygen": (reading.o2, meter.o2),
        "hydrocarbon": (reading.hc, meter.hc),
    }
    inputs = {name: Input(value, gas_uncertainty(value, channel)) for name, (value, channel) in gases.items()}
    nox = (
        Input(reading.nox, gas_uncertainty(reading.nox, meter.nox)) if reading.nox is not None else Input(0.0)
    )
    inputs["nitric_oxide"] = nox
    inputs["hydrogen_to_carbon"] = Input(options.fuel.hydrogen_to_carbon, options.hydrogen_doubt)
    inputs["carbon_factor"] = Input(options.carbon_factor, options.carbon_factor_doubt)
    return inputs


def _frozen(value: float, scale: float) -> tuple[Component, ...]:
    """Rich gas that froze colder than the law takes it."""
    share = min(1.0, max(0.0, (1.0 - value) / (1.0 - FROZEN_FULL_AT)))
    return (Component("water gas frozen colder", FROZEN_GAS_ERROR * share * scale),) if share > 0 else ()


def lambda_budget(reading: GasReading, options: GasOptions) -> Budget:
    """Lambda by Brettschneider with its budget. [-]

    Raises:
        InputFault: the reading holds too little CO2 to balance.
    """
    _require_exhaust(reading, options)

    def formula(**values: float) -> float:
        return brettschneider_lambda(
            **values,
            oxygen_to_carbon=options.fuel.oxygen_to_carbon,
            humidity=options.humidity,
            water_gas=WATER_GAS_CONSTANT,
        )

    budget = propagated(formula, _inputs(reading, options))
    return Budget(budget.value, budget.components + _frozen(budget.value, 1.0))


def air_fuel_budget(reading: GasReading, options: GasOptions) -> Budget:
    """Air-fuel ratio by mass, by Spindt, with its budget: relative doubts are those of lambda. [-]

    Raises:
        InputFault: the reading holds too little CO2 to balance.
    """
    by_lambda = lambda_budget(reading, options)
    ratio = spindt_ratio(_dry(reading), options.fuel, options.carbon_factor)
    scale = ratio / by_lambda.value
    parts = tuple(
        Component(part.name, part.uncertainty, part.sensitivity * scale, part.freedom, part.kind)
        for part in by_lambda.components
    )
    return Budget(ratio, parts)


def _require_exhaust(reading: GasReading, options: GasOptions) -> None:
    least = 2 * gas_uncertainty(reading.co2, options.meter.co2)
    if reading.co2 <= least:
        raise InputFault(
            "there is too little CO2 for this to be exhaust",
            where=reading.source,
            wanted=f"more than {100 * least:.1f} % CO2",
            got=f"{100 * reading.co2:.1f} %",
            remedy="Check that the engine runs and the probe is in the pipe",
        )


def air_ratio(reading: GasReading, options: GasOptions) -> AirRatio:
    """Lambda and air-fuel ratio of one reading, checked against each other and for dilution.

    Raises:
        InputFault: the reading holds too little CO2 to balance.
    """
    found, ratio = lambda_budget(reading, options), air_fuel_budget(reading, options)
    return AirRatio(
        reading=reading,
        lambda_=found,
        air_fuel_ratio=ratio,
        by_two_methods=ratio.value / options.fuel.stoichiometric_ratio - found.value,
        diluted=is_diluted(_dry(reading)),
    )
