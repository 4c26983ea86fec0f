"""Tests with a response as evidence: what each car should answer, and what the answers do to belief."""

from __future__ import annotations

import numpy as np
import pytest

from dwellwright.carburetor.air import operating_point
from dwellwright.carburetor.state import CarState, packed
from dwellwright.carburetor.steady import COLUMN, steady_batch
from dwellwright.catalogue.response_tests import response_tests
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import answers
from dwellwright.diagnosis.likelihood import problem_of, scores
from dwellwright.diagnosis.readings import gathered
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.units import duty_of_dwell

SHEET = archetype("two-barrel-v6")
DOUBT = {"deg": duty_of_dwell(0.7), "rpm": 21.0 / 60, "mV": 0.042}


def answer(name: str, change: float) -> Observation:
    """A test that changed its reading by so much, in the unit people read it in; dwell in deg."""
    test = response_tests()[name]
    si, unit = {"duty": (duty_of_dwell(change), "deg"), "engine_speed": (change / 60, "rpm")}.get(
        test.watch, (change / 1e3, "mV")
    )
    return Observation(Measured(f"response_{name}"), Regime(test.regime), si, DOUBT[unit], "test")


def favors(name: str, change: float, *states: CarState, more: tuple[Observation, ...] = ()) -> np.ndarray:
    """Log-likelihood of a test's answer on each car, relative to the sheet's own. [nat]"""
    problem = problem_of(SHEET, gathered([answer(name, change), *more]))
    parts = scores(problem, packed([CarState(), *states])).parts
    (part,) = [one for key, one in parts.items() if key.startswith("test: ")]
    return part[1:] - part[0]


# signs: the answers of `response_tests.toml`, common practice, no source


def test_a_pinched_purge_hose_measures_the_purge() -> None:
    purge = CarState(purge=0.4e-6)
    idle = operating_point(SHEET, "idle")
    problem = problem_of(SHEET, gathered([]))
    duty = steady_batch(problem.passages, packed([CarState(), purge]), [idle])[:, 0, COLUMN.duty]
    fell = -60 * float(duty[1] - duty[0])
    assert fell < -3.0  # vapor enriches, so the dwell was high
    assert favors("purge_hose_pinched", fell, purge) > 2.0
    assert favors("purge_hose_pinched", 0.0, purge) < -2.0
    assert np.allclose(favors("purge_hose_pinched", fell, CarState(vacuum_leak=4e-6)), 0.0)


def test_a_solenoid_that_cannot_move_the_mixture_does_not_change_the_speed() -> None:
    dead = (CarState(solenoid_dead=1.0), CarState(rods_stuck=1.0), CarState(rods_stuck=-1.0))
    for name in ("solenoid_unplugged", "driver_lead_grounded"):
        assert np.all(favors(name, 0.0, *dead) > 1.0), name
        assert np.all(favors(name, -400.0, *dead) < -1.0), name
    assert np.all(favors("solenoid_grounded_sensor", 0.0, *dead) > 1.0)
    assert np.all(favors("solenoid_grounded_sensor", -700.0, *dead) < -1.0)


def test_how_far_the_speed_falls_with_the_driver_lead_grounded_parts_a_short_travel_from_a_whole_one() -> (
    None
):
    short = CarState(rod_travel_lost=1e-3)
    small, large = (favors("driver_lead_grounded", change, short) for change in (-60.0, -500.0))
    assert small > 0.5
    assert large < -0.5


def test_one_answer_that_no_car_gives_costs_every_car_alike() -> None:
    cars = (CarState(rod_travel_lost=1e-3), CarState(solenoid_dead=1.0), CarState(vacuum_leak=4e-6))
    assert np.all(np.abs(favors("driver_lead_grounded", 1500.0, *cars)) < 0.05)


def test_a_dead_sensor_does_not_see_the_forced_mixture_and_propane_does_not_close_its_loop() -> None:
    cold = CarState(sensor_cold=400.0)
    assert favors("solenoid_grounded_sensor", 0.0, cold) > 1.0
    assert favors("enrichment", 0.0, cold) > 1.0
    assert favors("enrichment", 9.0, cold) < -1.0
    assert favors("induced_leak", 0.0, cold) > 1.0


def test_a_loop_at_its_lean_limit_has_no_answer_left_to_propane_but_one_to_a_leak() -> None:
    rich = CarState(needle_left=3.0, needle_right=3.0, idle_bleed_blocked=0.8)
    assert favors("enrichment", 0.0, rich) > 1.0
    assert favors("enrichment", 9.0, rich) < -1.0
    assert favors("induced_leak", 0.0, rich) > favors("induced_leak", -9.0, rich)


def test_a_loop_seen_open_makes_propane_tell_nothing_of_the_cars() -> None:
    seen = tuple(Observation(what, Regime.IDLE, value, 0.01, "log") for what, value in
                 ((Measured.CLOSED_LOOP_SHARE, 0.0), (Measured.DUTY, 0.5)))  # fmt: skip
    assert np.allclose(favors("enrichment", 0.0, CarState(sensor_cold=400.0), more=seen), 0.0, atol=0.05)


def test_the_sensor_lead_parts_a_computer_that_believes_the_engine_cold_from_a_sensor() -> None:
    believes_cold = CarState(coolant_sensor=-50.0)
    for name, obeyed in (("sensor_lead_grounded", -20.0), ("sensor_lead_fed", 20.0)):
        assert favors(name, 0.0, believes_cold) > 1.0, name
        assert favors(name, obeyed, believes_cold) < -1.0, name
        assert np.allclose(favors(name, obeyed, CarState(sensor_cold=400.0)), 0.0, atol=0.05), name


@pytest.mark.parametrize("name", sorted(answers.ANSWERS))
def test_chances_are_chances_on_any_car(name: str) -> None:
    random = np.random.default_rng(3)
    states = packed([CarState()] * 200)
    states += random.normal(size=states.shape) * problem_scales()
    evidence = gathered([answer(name, 0.0)])
    problem = problem_of(SHEET, evidence)
    found = scores(problem, states)
    held = answers.held_lambda(evidence, found.steady, problem.passages)
    rises, falls = answers.ANSWERS[name](answers.Cars(evidence, problem.scatter, states, found.steady, held))
    assert np.all((rises >= 0) & (falls >= 0) & (rises + falls <= 1 + 1e-12))


def problem_scales() -> np.ndarray:
    """How far each field is moved at random: its spread among healthy cars, where it has one."""
    scatter = problem_of(SHEET, gathered([])).scatter
    scales: np.ndarray = np.abs(scatter.directions * scatter.spreads[:, None]).max(axis=0)
    return scales


def test_every_test_with_a_response_is_foreseen_or_measured() -> None:
    assert {*answers.ANSWERS, "driver_lead_grounded", "purge_hose_pinched"} == set(response_tests())
