"""Tests with a response in a job: the change with its interval, what is kept, what reaches the diagnosis."""

from __future__ import annotations

from math import sqrt

import pytest

from dwellwright.catalogue.response_tests import Direction, response_tests
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.reports.plots.look import Format
from dwellwright.reports.plots.responses import response_plot
from dwellwright.service import responses
from dwellwright.service.jobs import job_view
from dwellwright.service.responses import add_response, response_facts, response_observations, response_of

WHO = "tester"


def test_every_test_can_be_written_down_and_becomes_an_observation() -> None:
    for line in responses.offered_tests():
        assert line.test.hazard
        middle = {"deg": 30.0, "rpm": 2000.0, "mV": 400.0}[line.unit]
        found = response_of(line.test.name, [middle], [middle * 1.5])
        seen = response_observations(found)
        assert seen[0].measured is Measured(f"response_{line.test.name}")
        assert seen[0].regime is Regime(line.test.regime)
        assert found.direction is Direction.RISES
    assert {line.test.name for line in responses.offered_tests()} == set(response_tests())


def test_the_change_and_its_interval_by_hand() -> None:
    # means 30.5 and 41.5; each half a degree of the meter and .5 deg of the mean of two (closed form)
    facts = response_facts(response_of("enrichment", [30, 31], [41, 42]))
    doubt = sqrt(2 * (0.5**2 + 0.5**2))
    assert facts["change"] == pytest.approx(11.0)
    assert (facts["low"], facts["high"]) == (pytest.approx(11 - 2 * doubt), pytest.approx(11 + 2 * doubt))
    assert (facts["direction"], facts["expected"]) == ("rises", "rises")


def test_an_answer_that_is_not_clear_is_not_called(shop: Shop, job: int) -> None:
    found = add_response(shop, job, "enrichment", [30], [31.5], Side.AS_FOUND, WHO)
    assert found.direction is None
    assert "repeat" in found.words


def test_answers_are_kept_each_once_with_what_was_read(shop: Shop, job: int) -> None:
    for _ in range(2):
        add_response(shop, job, "purge_hose_pinched", [30], [30], Side.AS_FOUND, WHO)
    view = job_view(shop, job)
    kept = responses.responses_of(view)
    assert [facts["direction"] for _, facts in kept] == ["stays", "stays"]
    assert [one.observation.measured for one in view.readings] == [Measured.RESPONSE_PURGE_HOSE_PINCHED] * 2


def test_forcing_the_mixture_lean_reaches_the_diagnosis_only_if_it_worked(shop: Shop, job: int) -> None:
    moved = response_observations(response_of("solenoid_grounded_sensor", [800], [90]))
    still = response_observations(response_of("solenoid_grounded_sensor", [800], [790]))
    assert [one.measured for one in moved][1:] == [Measured.SENSOR_FORCED_LEAN]
    assert moved[1].value == pytest.approx(0.090)
    assert len(still) == 1


@pytest.mark.parametrize(
    ("name", "before", "during", "unit", "says"),
    [
        ("nothing", [30.0], [31.0], "", "unknown test"),
        ("enrichment", [], [31.0], "", "has no value"),
        ("enrichment", [30.0], [], "", "during.*at least one number"),
        ("enrichment", [30.0], [99.0], "", "not believable"),
        ("enrichment", [30.0], [31.0], "kPa", "does not measure this"),
        ("enrichment", [float("nan")], [31.0], "", "finite"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(
    shop: Shop, job: int, name: str, before: list[float], during: list[float], unit: str, says: str
) -> None:
    with pytest.raises(InputFault, match=says):
        add_response(shop, job, name, before, during, Side.AS_FOUND, WHO, unit)
    assert responses.responses_of(job_view(shop, job)) == []


def test_answers_are_drawn() -> None:
    facts = response_facts(response_of("enrichment", [30], [41]))
    plot = response_plot([facts], Format.PNG)
    assert plot.image.startswith(b"\x89PNG")
    assert "propane enrichment" in plot.alt
    with pytest.raises(ValueError, match="at least one answer"):
        response_plot([])
