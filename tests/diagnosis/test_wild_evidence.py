"""Any subset of readings with any values: a stated result, no crash, no certainty out of nothing, the suspect named."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import Diagnosis, diagnose
from dwellwright.diagnosis.readings import possible
from dwellwright.diagnosis.settings_model import DIRECT
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.service.diagnosis import diagnosis_facts

SHEET = archetype("two-barrel-v6")
SLOW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
VALUES = st.one_of(
    st.floats(-1e9, 1e9),
    st.floats(-2.0, 2.0),
    st.sampled_from([0.0, 1.0, -1.0, 1e-300, -1e300, 1e300, 101325.0]),
)
DOUBTS = st.one_of(st.sampled_from([0.0, 1e-300, 1e-12, 1e12, 1e300]), st.floats(1e-6, 10.0))
READINGS = st.builds(
    Observation,
    measured=st.sampled_from(Measured),
    regime=st.sampled_from(Regime),
    value=VALUES,
    uncertainty=DOUBTS,
    source=st.just("wild"),
    wanted=st.one_of(st.none(), VALUES),
)


def test_every_kind_of_reading_has_its_limits() -> None:
    assert set(possible()) == set(Measured)
    assert all(low < high for low, high in possible().values())


USELESS = sorted(
    {Measured.ENGINE_SPEED, Measured.PULSE_RATE, Measured.SOLENOID_RESISTANCE, Measured.LOOP_DELAY}
)


def sane(found: Diagnosis) -> None:
    """Everything that is told is a number, a share is a share, and it can be written down."""
    facts = diagnosis_facts(found)
    json.dumps(facts, allow_nan=False)
    chances = [one.probability for one in found.causes]
    assert np.isfinite(chances).all()
    assert all(-1e-9 <= one <= 1.0 + 1e-9 for one in (*chances, found.healthy_probability))
    assert all(np.isfinite(value) for one in found.causes for value in (one.magnitude, one.low, one.high))
    assert all(one.low <= one.magnitude <= one.high for one in found.causes)
    assert all(np.isfinite(one.information) and one.information >= 0.0 for one in found.next_tests)


@SLOW
@given(st.lists(READINGS, max_size=8))
def test_any_readings_give_a_stated_result(seen: list[Observation]) -> None:
    sane(diagnose(seen, SHEET))


@SLOW
@given(st.lists(st.sampled_from(USELESS), max_size=4), st.floats(0.0, 1e4))
def test_readings_that_say_nothing_make_nobody_sure(measured: list[Measured], value: float) -> None:
    found = diagnose([Observation(one, Regime.IDLE, value, 1.0, "made") for one in measured], SHEET)
    sane(found)
    assert found.causes[0].probability < 0.2
    assert found.healthy_probability < 0.9
    assert any("No dwell was read" in words for words in found.warnings)


@SLOW
@given(st.lists(READINGS, max_size=6))
def test_readings_with_no_worth_make_nobody_sure(seen: list[Observation]) -> None:
    """A doubt larger than anything the reading could be: whatever it says, it says nothing."""
    vague = [
        Observation(one.measured, one.regime, float(np.clip(one.value, 0.0, 1.0)), 1e6, "vague", 0.5)
        for one in seen
        if one.measured in DIRECT
    ]
    assert diagnose(vague, SHEET).causes[0].probability < 0.2


@pytest.mark.parametrize("measured", [Measured.LEAN_STOP, Measured.FLOAT_LEVEL, Measured.IDLE_BLEED])
def test_the_one_impossible_reading_among_good_ones_is_named(measured: Measured) -> None:
    wanted = {
        one: SHEET.settings[one.value].wanted.si
        for one in (Measured.LEAN_STOP, Measured.FLOAT_LEVEL, Measured.IDLE_BLEED)
    }
    good = [
        Observation(Measured.DUTY, r, 0.5, 0.01, "log")
        for r in (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
    ]
    good += [
        Observation(one, Regime.BENCH, value, 0.01 * value, "sheet", value)
        for one, value in wanted.items()
        if one is not measured
    ]
    value = 40.0 * wanted[measured]
    found = diagnose(
        [*good, Observation(measured, Regime.BENCH, value, 0.01 * value, "slip", wanted[measured])], SHEET
    )
    sane(found)
    suspect = [words for words in found.warnings if "repeat it" in words]
    assert suspect
    assert all(measured.value.replace("_", " ") in words for words in suspect)
