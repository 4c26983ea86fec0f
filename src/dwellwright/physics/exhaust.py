"""Lambda and air-fuel ratio from a dry gas reading. The gas that a lambda makes is in `combustion`."""

from __future__ import annotations

from dataclasses import dataclass

from dwellwright.physics.checks import require_fraction
from dwellwright.physics.combustion import WATER_GAS_CONSTANT, ExhaustGas, gas_composition
from dwellwright.physics.fuel import AIR_MOLAR_MASS, AIR_OXYGEN, Fuel, carbon_formula_mass

__all__ = [
    "HEXANE_CARBON_FACTOR",
    "INFRARED_CARBON_FACTOR",
    "SMALLEST_CARBON_OXIDES",
    "ExhaustGas",
    "GasReading",
    "brettschneider_lambda",
    "gas_composition",
    "is_diluted",
    "measured_lambda",
    "spindt_ratio",
]

HEXANE_CARBON_FACTOR = 6.0
"""Carbon atoms per molecule of a hydrocarbon reading that sees everything, given as hexane. [-]"""
INFRARED_CARBON_FACTOR = 12.0
"""The same for an infrared reading as hexane, which sees about half the carbon; common practice. [-]"""
SMALLEST_CARBON_OXIDES = 0.06
"""CO plus CO2 below which a sample is too diluted to count: 40 CFR 85.2213. [-]"""
FROZEN_GAS_ERROR = 0.015
"""Lambda reads this much high in rich gas that froze colder than K = 3.5 says (1300 K at lambda 0.90 reads
0.917); one sigma to put in a budget on the rich side. [-]"""


@dataclass(frozen=True)
class GasReading:
    """Dry gas as an analyzer shows it, every amount a fraction by volume.

    Args:
        carbon_monoxide, carbon_dioxide, oxygen: [-]
        hydrocarbon: as hexane. [-]
        nitric_oxide: [-]

    Raises:
        ValueError: a fraction outside 0 to 1, or all together above 1.
    """

    carbon_monoxide: float
    carbon_dioxide: float
    oxygen: float
    hydrocarbon: float
    nitric_oxide: float = 0.0

    def __post_init__(self) -> None:
        parts = (
            ("CO", self.carbon_monoxide),
            ("CO2", self.carbon_dioxide),
            ("O2", self.oxygen),
            ("HC", self.hydrocarbon),
            ("NO", self.nitric_oxide),
        )
        for quantity, value in parts:
            require_fraction(quantity, value)
        total = sum(value for _, value in parts)
        if total > 1.0:
            raise ValueError(f"the gases add up to {total:.3f} of the sample, more than all of it")


def brettschneider_lambda(
    carbon_monoxide: float,
    carbon_dioxide: float,
    oxygen: float,
    hydrocarbon: float,
    nitric_oxide: float,
    hydrogen_to_carbon: float,
    oxygen_to_carbon: float,
    carbon_factor: float,
    humidity: float,
    water_gas: float,
) -> float:
    """Oxygen offered over oxygen needed, from dry gas. [-]

    Exact for gas whose water-gas ratio is `water_gas` and whose unburned part is fuel as it was.

    Args:
        carbon_monoxide: dry. [-]
        carbon_dioxide: dry, above zero. [-]
        oxygen: dry. [-]
        hydrocarbon: dry, as read. [-]
        nitric_oxide: dry. [-]
        hydrogen_to_carbon: atoms in the fuel. [-]
        oxygen_to_carbon: atoms in the fuel. [-]
        carbon_factor: carbon atoms per molecule of the hydrocarbon reading, 6 or 12. [-]
        humidity: moles of water per mole of dry intake air. [-]
        water_gas: frozen CO H2O / (CO2 H2). [-]

    References:
        [1] J. Brettschneider, Bosch Techn. Ber. 6(4), 1979, 177-186; the humidity term is an atom balance.

    >>> round(brettschneider_lambda(0.01, 0.146, 0.007, 0.0, 0.0, 1.85, 0.0, 6.0, 0.0, 3.5), 4)
    1.0027
    """
    burned = carbon_dioxide + carbon_monoxide
    wet = water_gas / (water_gas + carbon_monoxide / carbon_dioxide)
    found = carbon_dioxide + 0.5 * carbon_monoxide + oxygen + 0.5 * nitric_oxide
    found += burned * (0.25 * hydrogen_to_carbon * wet - 0.5 * oxygen_to_carbon)
    demand = 1.0 + 0.25 * hydrogen_to_carbon - 0.5 * oxygen_to_carbon
    needed = demand * (burned + carbon_factor * hydrocarbon)
    return found / (needed * (1.0 + 0.5 * humidity / 0.209476 * (1.0 - wet)))


def measured_lambda(
    reading: GasReading,
    fuel: Fuel,
    carbon_factor: float,
    humidity: float = 0.0,
    water_gas: float = WATER_GAS_CONSTANT,
) -> float:
    """Lambda of a gas reading by Brettschneider, with the fuel's own atoms. [-]

    Args:
        reading: dry gas.
        fuel: what was burned.
        carbon_factor: 6 or 12, see `HEXANE_CARBON_FACTOR` and `INFRARED_CARBON_FACTOR`. [-]
        humidity: moles of water per mole of dry intake air. [-]
        water_gas: frozen CO H2O / (CO2 H2). [-]

    Raises:
        ValueError: no CO2 in the reading, or another carbon factor.
    """
    _require_usable(reading, carbon_factor)
    return brettschneider_lambda(
        reading.carbon_monoxide,
        reading.carbon_dioxide,
        reading.oxygen,
        reading.hydrocarbon,
        reading.nitric_oxide,
        fuel.hydrogen_to_carbon,
        fuel.oxygen_to_carbon,
        carbon_factor,
        humidity,
        water_gas,
    )


def spindt_ratio(
    reading: GasReading, fuel: Fuel, carbon_factor: float, water_gas: float = WATER_GAS_CONSTANT
) -> float:
    """Air-fuel ratio by mass from a gas reading, by Spindt, with the oxygen of the fuel added. [-]

    Args:
        reading: dry gas.
        fuel: what was burned.
        carbon_factor: 6 or 12. [-]
        water_gas: frozen CO H2O / (CO2 H2). [-]

    Raises:
        ValueError: no CO2 in the reading, or another carbon factor.

    References:
        [1] R. S. Spindt, SAE 650507, 1965 (from memory); its constants 11.492 and 120 are the air masses
        worked out here from the atomic weights. The oxygen term is an atom balance.
    """
    _require_usable(reading, carbon_factor)
    monoxide = reading.carbon_monoxide / reading.carbon_dioxide
    surplus = reading.oxygen / reading.carbon_dioxide
    oxides = reading.carbon_monoxide + reading.carbon_dioxide
    burned = oxides / (oxides + carbon_factor * reading.hydrocarbon)
    # air per mole of carbon atoms and per mole of O2
    air = AIR_MOLAR_MASS / AIR_OXYGEN / carbon_formula_mass(fuel.hydrogen_to_carbon, fuel.oxygen_to_carbon)
    carbon = (1.0 + 0.5 * monoxide + surplus) / (1.0 + monoxide)
    hydrogen = 0.25 * fuel.hydrogen_to_carbon * water_gas / (water_gas + monoxide)
    return air * burned * (carbon + hydrogen - 0.5 * fuel.oxygen_to_carbon)


def is_diluted(reading: GasReading, smallest: float = SMALLEST_CARBON_OXIDES) -> bool:
    """Whether CO plus CO2 is too small for the sample to count: air in the probe or the pipe.

    Args:
        reading: dry gas.
        smallest: sum that still counts. [-]

    References:
        [1] 40 CFR 85.2213, measurement with CO plus CO2 below 6 % is void.
    """
    return reading.carbon_monoxide + reading.carbon_dioxide < smallest


def _require_usable(reading: GasReading, carbon_factor: float) -> None:
    if carbon_factor not in (HEXANE_CARBON_FACTOR, INFRARED_CARBON_FACTOR):
        raise ValueError(f"carbon factor must be 6 (hexane) or 12 (infrared), got {carbon_factor}")
    if not reading.carbon_dioxide > 0.0:
        raise ValueError(f"CO2 must be above zero to balance the gas, got {reading.carbon_dioxide}")
