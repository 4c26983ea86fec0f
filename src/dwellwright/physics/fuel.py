"""What a fuel is to an engine and to a jet: its atoms, its density and its viscosity. Blends go by volume."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, isfinite, log

from dwellwright.physics.checks import require_not_negative, require_positive

CARBON, HYDROGEN, OXYGEN = 12.011, 1.008, 15.999
"""IUPAC abridged standard atomic weights 2021. [g/mol]"""
AIR_OXYGEN = 0.209476
"""Mole fraction of oxygen in dry air, US Standard Atmosphere 1976, table 3. [-]"""
AIR_MOLAR_MASS = 28.9644
"""Dry air, US Standard Atmosphere 1976, table 2. [g/mol]"""
DENSITY_TEMPERATURE = 288.15
"""Reference temperature of density and of blending by volume (the trade's 15 degC). [K]"""
VISCOSITY_TEMPERATURE = 293.15
"""Reference temperature of viscosity. [K]"""
TEMPERATURE_RANGE = (253.15, 333.15)
"""Where density and viscosity laws were compared with reference fluids. [K]"""
EXCESS_VOLUME = 0.002
"""Largest relative swelling of hydrocarbon and ethanol on mixing, neglected here; from memory. [-]"""


def oxygen_demand(hydrogen_to_carbon: float, oxygen_to_carbon: float) -> float:
    """Moles of O2 that burn one mole of carbon with its hydrogen. [-]"""
    return 1.0 + 0.25 * hydrogen_to_carbon - 0.5 * oxygen_to_carbon


def carbon_formula_mass(hydrogen_to_carbon: float, oxygen_to_carbon: float) -> float:
    """Mass of fuel that holds one mole of carbon. [g/mol]"""
    return CARBON + HYDROGEN * hydrogen_to_carbon + OXYGEN * oxygen_to_carbon


def stoichiometric_ratio(hydrogen_to_carbon: float, oxygen_to_carbon: float) -> float:
    """Mass of dry air that burns a unit mass of fuel completely. [-]

    Args:
        hydrogen_to_carbon: atoms. [-]
        oxygen_to_carbon: atoms. [-]

    >>> round(stoichiometric_ratio(3.0, 0.5), 2)  # ethanol
    9.0
    """
    air = oxygen_demand(hydrogen_to_carbon, oxygen_to_carbon) / AIR_OXYGEN * AIR_MOLAR_MASS
    return air / carbon_formula_mass(hydrogen_to_carbon, oxygen_to_carbon)


def liquid_density(temperature: float, reference_density: float, expansion: float) -> float:
    """Density of a liquid fuel by the volume-correction law of the oil trade. [kg/m³]

    Args:
        temperature: [K]
        reference_density: at 288.15 K. [kg/m³]
        expansion: at 288.15 K. [1/K]

    References:
        [1] ASTM D1250-80 / API MPMS chapter 11.1, volume correction factor (from memory).
    """
    step = expansion * (temperature - 288.15)
    return reference_density * exp(-step * (1.0 + 0.8 * step))


def hydrocarbon_expansion(reference_density: float) -> float:
    """Expansion at 288.15 K of a gasoline of that density, 653 to 770 kg/m³. [1/K]

    Args:
        reference_density: at 288.15 K. [kg/m³]

    References:
        [1] ASTM D1250-80, table 54B, gasolines: K0 = 346.4228, K1 = 0.4388 (from memory).

    >>> round(hydrocarbon_expansion(745.0), 6)
    0.001213
    """
    return (346.4228 / reference_density + 0.4388) / reference_density


def liquid_viscosity(temperature: float, reference_viscosity: float, activation: float) -> float:
    """Dynamic viscosity of a liquid fuel by Andrade's law. [Pa s]

    Within 2 % of reference fluids from 253 to 333 K.

    Args:
        temperature: [K]
        reference_viscosity: at 293.15 K. [Pa s]
        activation: exponent of the law. [K]

    References:
        [1] E. N. da C. Andrade, Phil. Mag. 17, 1934, 497-511.
    """
    return reference_viscosity * exp(activation * (1.0 / temperature - 1.0 / 293.15))


@dataclass(frozen=True)
class Fuel:
    """A liquid fuel or a blend of them; blends are fuels again.

    Args:
        name: for people.
        hydrogen_to_carbon: atoms. [-]
        oxygen_to_carbon: atoms. [-]
        reference_density: at 288.15 K. [kg/m³]
        expansion: at 288.15 K. [1/K]
        reference_viscosity: dynamic, at 293.15 K. [Pa s]
        viscosity_activation: Andrade's exponent. [K]

    Raises:
        ValueError: a number that no liquid fuel has.
    """

    name: str
    hydrogen_to_carbon: float
    oxygen_to_carbon: float
    reference_density: float
    expansion: float
    reference_viscosity: float
    viscosity_activation: float

    def __post_init__(self) -> None:
        require_not_negative("hydrogen to carbon ratio", self.hydrogen_to_carbon, "atoms")
        require_not_negative("oxygen to carbon ratio", self.oxygen_to_carbon, "atoms")
        require_positive("fuel density", self.reference_density, "kg/m³")
        require_positive("fuel expansion", self.expansion, "1/K")
        require_positive("fuel viscosity", self.reference_viscosity, "Pa s")
        require_not_negative("viscosity exponent", self.viscosity_activation, "K")
        if oxygen_demand(self.hydrogen_to_carbon, self.oxygen_to_carbon) <= 0.0:
            raise ValueError(f"fuel {self.name!r} holds more oxygen than it can burn with")

    @property
    def stoichiometric_ratio(self) -> float:
        """Dry air per fuel by mass at lambda 1. [-]"""
        return stoichiometric_ratio(self.hydrogen_to_carbon, self.oxygen_to_carbon)

    @property
    def oxygen_demand(self) -> float:
        """Moles of O2 per mole of carbon at lambda 1. [-]"""
        return oxygen_demand(self.hydrogen_to_carbon, self.oxygen_to_carbon)

    @property
    def carbon_mass_share(self) -> float:
        """Carbon in the fuel by mass. [-]"""
        return CARBON / carbon_formula_mass(self.hydrogen_to_carbon, self.oxygen_to_carbon)

    def density(self, temperature: float) -> float:
        """Density at a temperature. [kg/m³]"""
        return liquid_density(temperature, self.reference_density, self.expansion)

    def viscosity(self, temperature: float) -> float:
        """Dynamic viscosity at a temperature. [Pa s]"""
        return liquid_viscosity(temperature, self.reference_viscosity, self.viscosity_activation)


def blend(name: str, volumes: Mapping[Fuel, float]) -> Fuel:
    """Fuel made of others by volume at 288.15 K.

    Volumes add (the swelling neglected is `EXCESS_VOLUME`); the logarithm of viscosity goes by volume,
    which is assumed, with an assumed error of 10 %.

    Args:
        name: of the blend.
        volumes: parts by volume, any scale. [-]

    Raises:
        ValueError: negative or no volumes.
    """
    total = sum(volumes.values())
    if not (isfinite(total) and total > 0.0) or min(volumes.values()) < 0.0:
        raise ValueError(
            f"parts by volume must be zero or more and not all zero, got {list(volumes.values())}"
        )
    parts = [(fuel, volume / total) for fuel, volume in volumes.items()]
    carbons = [
        share * fuel.reference_density / carbon_formula_mass(fuel.hydrogen_to_carbon, fuel.oxygen_to_carbon)
        for fuel, share in parts
    ]
    carbon = sum(carbons)
    return Fuel(
        name=name,
        hydrogen_to_carbon=sum(c * f.hydrogen_to_carbon for c, (f, _) in zip(carbons, parts, strict=True))
        / carbon,
        oxygen_to_carbon=sum(c * f.oxygen_to_carbon for c, (f, _) in zip(carbons, parts, strict=True))
        / carbon,
        reference_density=sum(share * fuel.reference_density for fuel, share in parts),
        expansion=sum(share * fuel.expansion for fuel, share in parts),
        reference_viscosity=exp(sum(share * log(fuel.reference_viscosity) for fuel, share in parts)),
        viscosity_activation=sum(share * fuel.viscosity_activation for fuel, share in parts),
    )
