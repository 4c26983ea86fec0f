"""Proof: each criterion, the verdict together, what is missing, what came before the work."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.proof import ProofVerdict, Standing, prove

WORK_ENDED = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)
REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


@pytest.fixture(name="sheet")
def _sheet() -> SpecSheet:
    return archetype("two-barrel-v6")


def evidence(**dwell: float) -> list[Observation]:
    """A full set after the work: 30 deg everywhere unless told otherwise."""
    after = WORK_ENDED + timedelta(minutes=20)
    found = []
    for regime in REGIMES:
        degrees = dwell.get(regime.name.lower(), 30.0)
        found += [
            Observation(Measured.DUTY, regime, degrees / 60, 0.5 / 60, "log.csv", time=after),
            Observation(Measured.CLOSED_LOOP_SHARE, regime, 0.99, 0.01, "log.csv", time=after),
            Observation(Measured.SENSOR_CROSSING_RATE, regime, 1.1, 0.05, "log.csv", time=after),
        ]
    return [*found, Observation(Measured.GAS_LAMBDA, Regime.IDLE, 1.002, 0.008, "gas.csv", time=after)]


def standing(proof, key: str) -> Standing:
    return next(one.standing for one in proof.criteria if one.key == key)


def test_everything_met_is_proven(sheet: SpecSheet) -> None:
    proof = prove(sheet, evidence(), since=WORK_ENDED)
    assert {one.standing for one in proof.criteria} == {Standing.MET}
    assert (proof.verdict, proof.missing, proof.failed) == (ProofVerdict.PROVEN, (), ())
    assert len({one.key for one in proof.criteria}) == len(proof.criteria) == 13


@pytest.mark.parametrize(
    ("degrees", "expected"),
    [(30.0, Standing.MET), (34.0, Standing.MET), (34.5, Standing.NOT_SHOWN), (35.5, Standing.NOT_SHOWN),
     (36.0, Standing.NOT_MET), (24.0, Standing.NOT_MET), (25.9, Standing.MET)],
)  # fmt: skip
def test_guard_band_of_idle_dwell(sheet: SpecSheet, degrees: float, expected: Standing) -> None:
    """30 ± 5 deg read to 0.5 deg: the 95 % one-sided guard band is 0.82 deg (normal table)."""
    assert standing(prove(sheet, evidence(idle=degrees)), "idle_dwell") is expected


def test_reserve_is_judged_both_ways(sheet: SpecSheet) -> None:
    """At least 10 deg from either end of 60: 8 deg and 52 deg fail alike, 12 and 48 hold."""
    for degrees, expected in (
        (8.0, Standing.NOT_MET),
        (52.0, Standing.NOT_MET),
        (12.0, Standing.MET),
        (48.0, Standing.MET),
    ):
        assert standing(prove(sheet, evidence(cruise=degrees)), "reserve_cruise") is expected


def test_one_failure_is_enough(sheet: SpecSheet) -> None:
    proof = prove(sheet, evidence(cruise=55.0)[:-1])
    assert proof.verdict is ProofVerdict.NOT_PROVEN
    assert proof.failed == ("dwell at cruise", "reserve both ways at cruise")
    assert proof.missing == ("lambda by gas at hot idle: not measured",)


def test_nothing_measured_is_not_yet_shown(sheet: SpecSheet) -> None:
    proof = prove(sheet, [])
    assert proof.verdict is ProofVerdict.NOT_YET_SHOWN
    assert len(proof.missing) == len(proof.criteria)


def test_readings_from_before_the_work_prove_nothing(sheet: SpecSheet) -> None:
    before = [replace(one, time=WORK_ENDED - timedelta(minutes=1)) for one in evidence()]
    unknown = [replace(one, time=None) for one in evidence()]
    assert {one.standing for one in prove(sheet, before, since=WORK_ENDED).criteria} == {Standing.NOT_SHOWN}
    assert {one.standing for one in prove(sheet, unknown, since=WORK_ENDED).criteria} == {Standing.NOT_SHOWN}
    assert prove(sheet, unknown).verdict is ProofVerdict.PROVEN


def test_the_latest_reading_counts_whatever_the_order(sheet: SpecSheet) -> None:
    late = Observation(
        Measured.DUTY, Regime.IDLE, 50 / 60, 0.5 / 60, "later", time=WORK_ENDED + timedelta(hours=2)
    )
    for observations in ([late, *evidence()], [*evidence(), late]):
        assert standing(prove(sheet, observations), "idle_dwell") is Standing.NOT_MET


def test_lambda_by_gas_far_from_one_is_not_met(sheet: SpecSheet) -> None:
    off = [replace(one, value=1.06) if one.measured is Measured.GAS_LAMBDA else one for one in evidence()]
    assert standing(prove(sheet, off), "lambda_at_idle") is Standing.NOT_MET
