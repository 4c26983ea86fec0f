"""Guard bands and outliers against closed forms and published critical values."""

from math import inf, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm, t

from dwellwright.evidence.gauge.judgement import (
    Verdict,
    conforming_probability,
    judgement,
    outlier_repeats,
    standing_out,
)
from dwellwright.evidence.gauge.sheet import GaugeReading
from dwellwright.units import Dimension

THOU = 0.0254e-3


def rods(*repeats: float) -> GaugeReading:
    values = tuple(one * THOU for one in repeats)
    return GaugeReading(
        "rod_rich_gauge", "thou", Dimension.LENGTH, values, 152 * THOU, None, None, "x, row 1"
    )


def test_on_the_limit_is_an_even_chance() -> None:
    # Closed form: one far limit, so half the distribution conforms.
    assert conforming_probability(5.0, 5.0, 0.1) == pytest.approx(0.5, abs=1e-9)
    assert conforming_probability(0.0, 1.959964, 1.0) == pytest.approx(0.95, abs=1e-6)


def test_guard_band_is_one_sided() -> None:
    # 95 % one-sided normal: 1.645 (published table); with 5 degrees of freedom Student's 2.015.
    assert judgement(0.0, 5.0, 1.0).guard_band == pytest.approx(1.645, abs=5e-4)
    assert judgement(0.0, 9.0, 1.0, freedom=5).guard_band == pytest.approx(2.015, abs=5e-4)


@pytest.mark.parametrize(
    ("deviation", "verdict"),
    [
        (0.0, Verdict.IN),
        (3.3, Verdict.IN),
        (3.4, Verdict.CANNOT_TELL),
        (6.6, Verdict.CANNOT_TELL),
        (6.7, Verdict.OUT),
        (-3.3, Verdict.IN),
        (-6.7, Verdict.OUT),
    ],
)
def test_zones_around_the_limits(deviation: float, verdict: Verdict) -> None:
    # By hand: limits at 5, guard band 1.645, so pass inside 3.355, fail outside 6.645.
    assert judgement(deviation, 5.0, 1.0).verdict is verdict


def test_a_gauge_too_coarse_never_passes() -> None:
    assert judgement(0.0, 1.0, 1.0).verdict is Verdict.CANNOT_TELL


@given(st.floats(-50, 50), st.floats(0.1, 20), st.floats(0.01, 20))
def test_verdict_never_contradicts_the_probability(deviation: float, tolerance: float, doubt: float) -> None:
    judged = judgement(deviation, tolerance, doubt)
    expected = norm.cdf((tolerance - deviation) / doubt) - norm.cdf((-tolerance - deviation) / doubt)
    assert judged.conforming == pytest.approx(float(expected), abs=1e-12)
    if judged.verdict is Verdict.IN:
        assert abs(deviation) <= tolerance
    if judged.verdict is Verdict.OUT:
        assert abs(deviation) >= tolerance or doubt > tolerance / 2


def test_outlier_is_grubbs_without_prior_knowledge() -> None:
    # Grubbs 1969: two-sided 5 % critical value for n = 10 is 2.290 (from memory); a sample made to have it.
    others = [-1.2, -0.7, -0.4, -0.1, 0.0, 0.2, 0.5, 0.8, 0.9]
    count = 10

    def grubbs(x: float) -> float:
        values = [*others, x]
        mean = sum(values) / count
        spread = sqrt(sum((one - mean) ** 2 for one in values) / (count - 1))
        return (x - mean) / spread

    low, high = 1.0, 20.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if grubbs(middle) < 2.290 else (low, middle)
    assert standing_out((*others, low), 0.0, 0)[-1] == pytest.approx(0.05, abs=5e-4)


def test_prior_knowledge_finds_an_outlier_among_three() -> None:
    assert outlier_repeats(rods(152, 153, 190)) == (2,)
    assert outlier_repeats(rods(152, 153, 155)) == ()


def test_two_alike_and_one_slightly_off_is_no_outlier() -> None:
    # Three repeats by themselves can never show one at this level: the prior is what decides.
    assert outlier_repeats(rods(152, 152, 153)) == ()


def test_single_repeat_has_nothing_to_differ_from() -> None:
    assert standing_out((1.0,), 1.0, 10) == (1.0,)
    assert standing_out((1.0, 2.0), 0.0, 0) == (1.0, 1.0)


def test_exact_chance_for_two_by_hand() -> None:
    # two readings 6 apart, known spread 1 with 10 degrees: t = 6/sqrt(2), two-sided, times two
    assert standing_out((0.0, 6.0), 1.0, 10)[0] == pytest.approx(min(1, 4 * t.sf(6 / sqrt(2), 10)))


def test_refusals() -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        judgement(0.0, -1.0, 1.0)
    with pytest.raises(ValueError, match="confidence must be"):
        judgement(0.0, 1.0, 1.0, inf, 0.2)
    assert conforming_probability(2.0, 1.0, 0.0) == 0.0
