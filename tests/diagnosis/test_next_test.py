"""Information of a test against closed forms, and the decision to take the unit off."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from dwellwright.catalogue.sheet_file import archetype
from dwellwright.catalogue.shop_tests import shipped_tests
from dwellwright.diagnosis import diagnose, next_test
from dwellwright.diagnosis.decision import Pull
from dwellwright.diagnosis.next_test import information
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")
THOU = 25.4e-6


@pytest.mark.parametrize("gap", [0.0, 0.5, 2.0, 4.0, 60.0])
def test_information_on_two_equal_sets_is_the_integral(gap: float) -> None:
    def integrand(x: float) -> float:
        p, q = norm.pdf(x), norm.pdf(x - gap)
        return sum(0.5 * one * np.log2(one / (0.5 * (p + q))) for one in (p, q) if one > 1e-300)

    expected = 1.0 if gap > 20 else quad(integrand, -10, gap + 10)[0]
    found = information(np.array([0.5, 0.5]), np.array([0, 1]), np.array([0.0, gap]), np.ones(2), 1.0)
    assert found == pytest.approx(expected, abs=0.01)


def test_a_test_already_made_is_not_advised_again() -> None:
    dwell = [Observation(Measured.DUTY, r, 0.8, 0.01, "made") for r in (Regime.IDLE, Regime.FAST_NO_LOAD)]
    before = {one.test.identifier for one in diagnose(dwell, SHEET).next_tests}
    searched = Observation(Measured.AIR_LEAK_SEARCH, Regime.IDLE, 0.0, 0.8e-6, "made")
    after = {one.test.identifier for one in diagnose([*dwell, searched], SHEET).next_tests}
    assert "dwell_idle" not in before
    assert "dwell_cruise" in before
    assert "leak_search" not in after


def test_every_test_without_a_bench_line_has_a_result_that_can_be_typed() -> None:
    from dwellwright.service.readings import known_items

    for test in shipped_tests():
        measured = test.after.partition("@")[0]
        assert measured in {one.value for one in Measured}, test.identifier
        if test.result:
            assert measured in known_items()
            assert test.lowest < test.highest


def test_a_search_that_finds_the_leak_names_it() -> None:
    dwell = Observation(Measured.DUTY, Regime.IDLE, 0.2, 0.01, "made")
    found = Observation(Measured.AIR_LEAK_SEARCH, Regime.IDLE, 4e-6, 0.8e-6, "made")
    first = diagnose([dwell, found], SHEET).causes[0]
    assert first.identifier == "vacuum_leak"
    assert first.probability > 0.9


def test_the_unit_comes_off_for_a_stop_and_stays_on_for_fuel_or_a_healthy_car() -> None:
    stop = Observation(Measured.LEAN_STOP, Regime.BENCH, 105 * THOU, THOU, "made", 70 * THOU)
    fuel = Observation(Measured.SENSOR_FORCED_RICH, Regime.IDLE, 0.75, 0.01, "made", 0.9)
    for evidence, advice in (([stop], Pull.PULL), ([fuel], Pull.LEAVE)):
        pull = diagnose(evidence, SHEET).pull
        assert pull.advice is advice
        assert (pull.minutes_pull < pull.minutes_leave) is (advice is Pull.PULL)
        assert 0 <= pull.inside <= 1
        assert 0 <= pull.outside <= 1


def test_a_hose_that_was_pinched_is_not_asked_to_be_pinched_again() -> None:
    (test,) = [one for one in shipped_tests() if one.identifier == "pinch_purge"]
    assert not next_test._made(test, {("duty", "idle")})
    assert next_test._made(test, {("response_purge_hose_pinched", "idle")})
    assert next_test._made(test, {("purge_vacuum", "idle")})
