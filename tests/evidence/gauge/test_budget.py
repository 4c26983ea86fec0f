"""Budgets against the Guide's own example and an independent library."""

from math import inf, sqrt

import pytest
from GTC import result as gtc_result
from GTC import type_b, ureal
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.catalogue.instruments import instrument, instruments
from dwellwright.evidence.gauge.budget import (
    Budget,
    Component,
    Kind,
    arcsine,
    reading_budget,
    rectangular,
    resolution,
    triangular,
)
from dwellwright.evidence.gauge.propagate import Input, propagated

# Inputs of JCGM 100:2008 H.1 (end gauge), nanometres and degrees: as in the GTC documentation.
REPEATS, RANDOM, SYSTEMATIC = (13 / sqrt(5), 24), (3.9, 5), (20 / 3, 8)
END_GAUGE = {
    "standard": Input(50_000_623.0, 25.0, 18),
    "repeats": Input(215.0, REPEATS[0], REPEATS[1], Kind.TYPE_A),
    "random": Input(0.0, RANDOM[0], RANDOM[1]),
    "systematic": Input(0.0, SYSTEMATIC[0], SYSTEMATIC[1]),
    "expansion": Input(11.5e-6, rectangular(2e-6)),
    "mean_temperature": Input(-0.1, 0.2),
    "cyclic": Input(0.0, arcsine(0.5)),
    "expansion_difference": Input(0.0, rectangular(1e-6), 50),
    "temperature_difference": Input(0.0, rectangular(0.05), 2),
}


def end_gauge(
    standard: float,
    repeats: float,
    random: float,
    systematic: float,
    expansion: float,
    mean_temperature: float,
    cyclic: float,
    expansion_difference: float,
    temperature_difference: float,
) -> float:
    temperature = mean_temperature + cyclic
    compared = repeats + random + systematic
    return (
        standard
        + compared
        - standard * (expansion_difference * temperature + expansion * temperature_difference)
    )


def test_end_gauge_of_the_guide() -> None:
    budget = propagated(end_gauge, END_GAUGE)
    # Published, JCGM 100:2008 H.1 (values from memory): 50 000 838 nm, uc 32 nm (31.66 unrounded), nu 16.75
    assert budget.value == pytest.approx(50_000_838.0, abs=0.5)
    assert budget.uncertainty == pytest.approx(31.66, abs=0.05)
    assert budget.freedom == pytest.approx(16.75, abs=0.15)
    parts = {part.name: part.contribution for part in budget.components}
    assert parts["standard"] == pytest.approx(25.0, abs=0.01)
    assert parts["temperature_difference"] == pytest.approx(16.6, abs=0.05)
    assert parts["expansion_difference"] == pytest.approx(2.89, abs=0.01)
    compared = sqrt(parts["repeats"] ** 2 + parts["random"] ** 2 + parts["systematic"] ** 2)
    assert compared == pytest.approx(9.68, abs=0.05)


def test_end_gauge_agrees_with_an_independent_library() -> None:
    inputs = {name: ureal(one.value, one.uncertainty, one.freedom) for name, one in END_GAUGE.items()}
    reference = gtc_result(end_gauge(**inputs))
    budget = propagated(end_gauge, END_GAUGE)
    assert budget.value == pytest.approx(reference.x, rel=1e-12)
    assert budget.uncertainty == pytest.approx(reference.u, rel=1e-6)
    assert budget.freedom == pytest.approx(reference.df, rel=1e-5)


def test_shapes_agree_with_an_independent_library() -> None:
    assert rectangular(0.7) == pytest.approx(type_b.uniform(0.7))
    assert triangular(0.7) == pytest.approx(type_b.triangular(0.7))
    assert arcsine(0.7) == pytest.approx(type_b.arcsine(0.7))
    assert resolution(0.1) == pytest.approx(type_b.uniform(0.05))


def test_coverage_of_few_repeats_is_students() -> None:
    # Published t tables: 2.776 for 4 degrees of freedom, 95 % two-sided; 1.960 for the normal.
    assert Budget(0.0, (Component("a", 1.0, freedom=4),)).coverage_factor() == pytest.approx(2.776, abs=5e-4)
    assert Budget(0.0, (Component("a", 1.0),)).coverage_factor() == pytest.approx(1.95996, abs=1e-5)
    assert Budget(0.0, (Component("a", 1.0),)).normal_equivalent == pytest.approx(1.0, abs=1e-6)


def test_repeats_that_disagree_widen_the_budget_and_more_repeats_narrow_it() -> None:
    tool = instrument("depth_micrometer")
    tight = reading_budget((4.00e-3, 4.00e-3, 4.00e-3), tool).uncertainty
    loose = reading_budget((3.90e-3, 4.00e-3, 4.10e-3), tool).uncertainty
    many = reading_budget((4.00e-3,) * 12, tool).uncertainty
    assert many < tight < loose


def test_pooled_repeats_by_hand() -> None:
    # 30 degrees at 0.015 mm with 2 degrees at 0.1 mm: sqrt((30*.015^2 + 2*.1^2)/32 / 3) = .016738 mm by hand
    tool = instrument("depth_micrometer")
    part = reading_budget((3.9e-3, 4.0e-3, 4.1e-3), tool).components[0]
    expected = sqrt((30 * 0.015**2 + 0.02) / 32 / 3) * 1e-3
    assert part.uncertainty == pytest.approx(expected, rel=1e-9)
    assert part.freedom == 32
    assert part.kind is Kind.TYPE_A


def test_relative_limit_grows_with_the_reading() -> None:
    tool = instrument("voltmeter")
    assert reading_budget((10.0,), tool).uncertainty > reading_budget((1.0,), tool).uncertainty


def test_every_instrument_has_sound_numbers() -> None:
    for tool in instruments().values():
        assert tool.resolution > 0, tool.name
        assert tool.limit > 0, tool.name
        assert tool.repeatability > 0, tool.name
        assert tool.source, tool.name


@given(st.lists(st.floats(0.01, 10), min_size=1, max_size=6), st.floats(1, 50))
def test_freedom_lies_between_least_and_sum(parts: list[float], freedom: float) -> None:
    # Limit of Welch-Satterthwaite: JCGM 100 G.4.1, nu_eff is at most the sum and at least the smallest.
    budget = Budget(0.0, tuple(Component("x", one, freedom=freedom) for one in parts))
    assert freedom * (1 - 1e-9) <= budget.freedom <= freedom * len(parts) * (1 + 1e-9)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="at least one reading"):
        reading_budget((), instrument("caliper"))
    with pytest.raises(ValueError, match="negative"):
        propagated(lambda a: a, {"a": Input(1.0, -1.0)})
    assert Budget(1.0, ()).freedom == inf
