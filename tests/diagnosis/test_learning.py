"""What closed jobs teach of the doubts: the grid against SciPy's quadrature, and shops whose truth is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, truncnorm

from dwellwright.catalogue.causes import shipped_causes
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import learning
from dwellwright.diagnosis.hypotheses import range_of, selected
from dwellwright.diagnosis.learning import LearnedDoubt, PastCar, learned_from
from dwellwright.diagnosis.scatter import shipped_scatter
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")
CAUSES = selected(shipped_causes())
Shop = Callable[[int, float, float, float], list[PastCar]]


@pytest.fixture(scope="module")
def shop(calibration: ModuleType) -> Shop:
    """Cars of a shop whose settings, effects and healthy dwells scatter so many times as the shipped doubts say."""

    def cars(count: int, settings: float, effect: float, floor: float) -> list[PastCar]:
        random, shipped, found = np.random.default_rng(5), shipped_scatter(), []
        own = replace(shipped, spreads=settings * shipped.spreads,
                      discrepancy=shipped.discrepancy.scaled(effect, floor))  # fmt: skip
        for _ in range(count):
            held = calibration.drawn_causes(CAUSES, random)
            sizes = np.array([range_of(CAUSES.causes[k]).spread_evenly(random.random(1))[0] for k in held])
            seen = calibration.readings_of(CAUSES, held, sizes, random, own)
            found.append(PastCar(SHEET, tuple(seen), frozenset(CAUSES.names[k] for k in held)))
        return found

    return cars


def told(cars: list[PastCar]) -> dict[str, LearnedDoubt]:
    return {one.name: one for one in learned_from(cars).doubts}


def float_reading(deviation: float) -> tuple[Observation, ...]:
    wanted = SHEET.settings["float_level"].wanted.si
    return (Observation(Measured.FLOAT_LEVEL, Regime.BENCH, wanted + deviation, 1e-4, "test", wanted),)


def test_without_cars_the_shipped_doubts_stand() -> None:
    found = learned_from([])
    assert found.doubts == ()
    assert found.scatter.discrepancy == shipped_scatter().discrepancy
    assert np.array_equal(found.scatter.spreads, shipped_scatter().spreads)


def test_a_learned_spread_is_bayes_rule_done_by_quadrature() -> None:
    deviations, shipped = (0.1e-3, -0.3e-3, 0.25e-3, 0.05e-3), 0.4e-3
    least = range_of(shipped_causes()["float_level"]).least
    doubt = float(np.hypot(0.1e-3, 0.2e-3))  # the reading's and the method's

    def belief(log_factor: float) -> float:
        wide = float(np.hypot(shipped * np.exp(log_factor), doubt))
        cut = least / wide
        likely = np.prod([truncnorm.pdf(d, -cut, cut, scale=wide) for d in deviations])
        return float(likely * norm.pdf(log_factor, scale=learning.BELIEF))

    whole, second = (quad(lambda x, power=power: belief(x) * np.exp(power * x), -1.2, 1.2)[0]
                     for power in (0, 2))  # fmt: skip
    cars = [PastCar(SHEET, float_reading(d), frozenset()) for d in deviations]
    one = told(cars)["fuel_level"]
    assert one.cars == 4
    assert one.shipped == pytest.approx(shipped)
    assert one.learned == pytest.approx(shipped * np.sqrt(second / whole), rel=2e-3)


def test_a_setting_that_was_the_cause_or_is_far_enough_off_to_be_one_teaches_nothing_of_healthy_cars() -> (
    None
):
    healthy = [PastCar(SHEET, float_reading(d), frozenset()) for d in (0.1e-3, -0.2e-3)]
    guilty = PastCar(SHEET, float_reading(0.3e-3), frozenset({"float_level"}))
    missed = PastCar(SHEET, float_reading(4e-3), frozenset())
    assert told([*healthy, guilty, missed]) == told(healthy)


def test_a_shop_of_steadier_cars_learns_that_and_one_like_the_catalogue_keeps_its_doubts(shop: Shop) -> None:
    steady, usual = told(shop(60, 0.5, 0.5, 0.5)), told(shop(60, 1.0, 1.0, 1.0))
    for name in ("rich_stop", "fuel_level", "fuel_pressure", "floor", "shared"):
        assert steady[name].high < 0.95 * steady[name].shipped, name
        assert steady[name].low <= 0.75 * steady[name].shipped, name
        assert usual[name].low < 1.15 * usual[name].shipped, name
        assert usual[name].high > 0.85 * usual[name].shipped, name


def test_a_shop_whose_cars_differ_more_from_the_model_comes_to_doubt_it_more(shop: Shop) -> None:
    wild = told(shop(60, 1.0, 2.0, 2.0))
    for name in ("floor", "shared", "regime"):
        assert wild[name].low > 1.1 * wild[name].shipped, name


def test_more_cars_narrow_what_is_learned(shop: Shop) -> None:
    cars = shop(60, 1.0, 1.0, 1.0)
    few, many = told(cars[:6]), told(cars)
    for name in ("fuel_level", "floor", "shared"):
        assert many[name].high - many[name].low < few[name].high - few[name].low, name


def test_cars_whose_causes_cannot_be_or_are_unknown_to_the_catalogue_are_passed_over() -> None:
    duty = Observation(Measured.DUTY, Regime.IDLE, 0.9, 0.01, "test")
    both = PastCar(SHEET, (duty,), frozenset({"rods_stuck_rich", "rods_stuck_lean"}))
    strange = PastCar(SHEET, (duty,), frozenset({"something_else"}))
    assert learned_from([both, strange]).doubts == ()
