"""What a test with a response says: lead grounded, solenoid unplugged, purge hose pinched; and unburned fuel."""

from __future__ import annotations

import numpy as np
import pytest

from dwellwright.carburetor.prediction import predicted
from dwellwright.catalogue.fuels import fuel_named
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import Diagnosis, diagnose
from dwellwright.diagnosis.exhaust_model import hydrocarbon_at
from dwellwright.diagnosis.response_model import speed_change
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.physics.combustion import HEALTHY_UNBURNED, TYPICAL_MIXING_SPREAD, gas_composition

SHEET = archetype("two-barrel-v6")
HEALTHY = [
    Observation(Measured.DUTY, r, 0.5, 0.01, "made")
    for r in (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
]


def chance(found: Diagnosis, *names: str) -> float:
    return sum(one.probability for one in found.causes if one.identifier in names)


def answer(measured: Measured, value: float, regime: Regime = Regime.FAST_NO_LOAD) -> Observation:
    return Observation(measured, regime, value, 0.2 if regime is Regime.FAST_NO_LOAD else 0.008, "made")


def test_speed_falls_on_both_sides_of_the_best_mixture_and_goes_back_the_way_it_came() -> None:
    # common practice, no source: an engine slows when it is leaned out from 1, and when it is flooded
    one, lean, rich, flooded = (np.array([lam]) for lam in (1.0, 1.2, 0.9, 0.65))
    assert speed_change(one, lean)[0] < -1.0
    assert speed_change(one, rich)[0] > 0.0
    assert speed_change(one, flooded)[0] < 0.0
    assert speed_change(lean, one)[0] == pytest.approx(-speed_change(one, lean)[0])
    assert speed_change(one, one)[0] == 0.0


def test_a_grounded_lead_that_changes_nothing_speaks_for_what_stands_still() -> None:
    stuck = ("solenoid_dead", "rods_stuck_rich", "rods_stuck_lean", "rod_travel")
    before = diagnose(HEALTHY, SHEET)
    still = diagnose([*HEALTHY, answer(Measured.RESPONSE_DRIVER_LEAD_GROUNDED, 0.0)], SHEET)
    point = predicted(SHEET)[1]
    drop = float(speed_change(np.array([point.lambda_held]), np.array([point.lambda_energized]))[0])
    assert drop < -1.0
    falls = diagnose([*HEALTHY, answer(Measured.RESPONSE_DRIVER_LEAD_GROUNDED, drop)], SHEET)
    assert chance(still, *stuck) > 2.0 * chance(before, *stuck)
    assert chance(falls, *stuck) < chance(before, *stuck)
    assert any("driver lead grounded" in part.evidence for one in still.causes for part in one.support)


def test_a_pinched_purge_hose_tells_the_purge_from_its_look_alikes() -> None:
    rich = [Observation(Measured.DUTY, Regime.IDLE, 0.72, 0.01, "made"), *HEALTHY[1:]]
    before = diagnose(rich, SHEET)
    falls = diagnose([*rich, answer(Measured.RESPONSE_PURGE_HOSE_PINCHED, -0.22, Regime.IDLE)], SHEET)
    still = diagnose([*rich, answer(Measured.RESPONSE_PURGE_HOSE_PINCHED, 0.0, Regime.IDLE)], SHEET)
    assert chance(falls, "purge") > 0.8 > chance(before, "purge") > 3.0 * chance(still, "purge")


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
