"""What unburned fuel says: a misfire leaves it beside oxygen, false air does not."""

from __future__ import annotations

import numpy as np
import pytest

from dwellwright.catalogue.fuels import fuel_named
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import Diagnosis, diagnose
from dwellwright.diagnosis.exhaust_model import hydrocarbon_at
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.physics.combustion import HEALTHY_UNBURNED, TYPICAL_MIXING_SPREAD, gas_composition

SHEET = archetype("two-barrel-v6")
HEALTHY = [
    Observation(Measured.DUTY, r, 0.5, 0.01, "made")
    for r in (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
]


def chance(found: Diagnosis, *names: str) -> float:
    return sum(one.probability for one in found.causes if one.identifier in names)


def test_hydrocarbon_is_the_gas_laws_own_between_its_knots() -> None:
    fuel = fuel_named("gasoline")
    for lam, misfire in ((0.93, 0.0), (1.004, 0.05), (1.1, 0.12)):
        exact = gas_composition(lam, fuel, HEALTHY_UNBURNED + misfire, mixing_spread=TYPICAL_MIXING_SPREAD)
        found = hydrocarbon_at(np.array([lam]), np.array([misfire]))[0]
        assert found == pytest.approx(exact.hydrocarbon, rel=0.02)


def test_much_unburned_fuel_beside_oxygen_is_a_misfire_and_little_is_false_air() -> None:
    # common practice, no source: oxygen with fuel beside it was never burned, oxygen without came in later
    gases = {Measured.CO: 0.012, Measured.CO2: 0.137, Measured.O2: 0.017}
    base = [
        *HEALTHY,
        *(Observation(what, Regime.IDLE, value, 0.0008, "gas") for what, value in gases.items()),
    ]
    much, little = (
        diagnose([*base, Observation(Measured.HC, Regime.IDLE, value, 0.05 * value, "gas")], SHEET)
        for value in (1600e-6, 180e-6)
    )
    assert chance(much, "misfire") > 0.7
    assert chance(little, "misfire") < 0.1 * chance(much, "misfire")
