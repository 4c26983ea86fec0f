"""Tests with a response: direction by closed form, refused mixtures, and hazards that are never missing."""

import pytest

from dwellwright.catalogue.response_tests import Direction, response_test, response_tests
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.response import response
from dwellwright.evidence.observation import Measured, Observation, Regime


def duty(value: float, doubt: float = 0.01, regime: Regime = Regime.IDLE) -> Observation:
    return Observation(Measured.DUTY, regime, value, doubt, "meter")


def test_enrichment_raises_dwell() -> None:
    found = response(response_test("enrichment"), duty(0.50), duty(0.80))
    assert found.direction is Direction.RISES
    assert found.change == pytest.approx(0.30)
    assert found.uncertainty == pytest.approx(0.01 * 2**0.5)
    assert found.interval() == pytest.approx((0.30 - 2 * 0.014142, 0.30 + 2 * 0.014142), abs=1e-5)
    assert found.as_expected == pytest.approx(1.0)
    assert "takes fuel away" in found.words


@pytest.mark.parametrize(
    ("after", "direction", "words"),
    [(0.50, Direction.STAYS, "does not answer"), (0.2, Direction.FALLS, "wrong way")],
)
def test_other_answers_mean_other_things(after: float, direction: Direction, words: str) -> None:
    found = response(response_test("enrichment"), duty(0.50, 0.004), duty(after, 0.004))
    assert found.direction is direction
    assert words in found.words


def test_half_of_the_smallest_answer_is_an_even_chance() -> None:
    # closed form: normal at its edge, 0.025 of the 0.05
    found = response(response_test("enrichment"), duty(0.50, 0.003), duty(0.525, 0.003))
    assert found.chances[Direction.RISES] == pytest.approx(0.5, abs=1e-9)
    assert found.direction is None
    assert "repeat" in found.words


def test_chances_add_up_even_for_exact_readings() -> None:
    found = response(response_test("purge_hose_pinched"), duty(0.5, 0.0), duty(0.5, 0.0))
    assert sum(found.chances.values()) == pytest.approx(1.0)
    assert found.as_expected == 1.0


def test_wrong_readings_are_refused() -> None:
    speed = Observation(Measured.ENGINE_SPEED, Regime.IDLE, 12.0, 0.1, "meter")
    with pytest.raises(InputFault, match="not what this test watches"):
        response(response_test("enrichment"), duty(0.5), speed)
    with pytest.raises(InputFault, match="not taken where"):
        response(response_test("enrichment"), duty(0.5), duty(0.6, regime=Regime.CRUISE))
    with pytest.raises(InputFault, match="unknown test"):
        response_test("horn")


def test_shipped_tests_are_sound() -> None:
    for test in response_tests().values():
        assert len(test.hazard) > 40, test.name
        assert test.steps, test.name
        assert set(test.answers) == set(Direction), test.name
        assert Measured(test.watch), test.name
        assert Regime(test.regime), test.name
        assert test.smallest > 0, test.name
        assert test.minutes > 0, test.name
        assert test.source, test.name
    assert response_test("solenoid_unplugged").smallest == pytest.approx(100 / 60)
