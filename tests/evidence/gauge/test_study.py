"""Gauge studies, calibration and drift against published results."""

from io import StringIO
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from numpy.typing import NDArray
from statsmodels.regression.mixed_linear_model import MixedLM

from dwellwright.evidence.gauge.calibration import calibration
from dwellwright.evidence.gauge.drift import cumulative_sums, gauge_drift, weighted_average
from dwellwright.evidence.gauge.study import (
    analysis_of_variance,
    average_and_range,
    likelihood_study,
    range_moments,
)
from dwellwright.evidence.gauge.variance import one_way_components, restricted_components

# Yield of dyestuff in 6 batches, 5 samples each: Davies, Goldsmith 1972, table 6.1 (data from memory).
DYESTUFF = np.array(
    [
        [1545, 1440, 1440, 1520, 1580],
        [1540, 1555, 1490, 1560, 1495],
        [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545],
        [1595, 1630, 1515, 1635, 1625],
        [1520, 1455, 1450, 1480, 1445],
    ],
    dtype=np.float64,
)
# The measurement-systems manual's worked example: 10 parts, 3 appraisers, 3 trials (data from memory).
TEN_PARTS = (
    np.loadtxt(
        StringIO(
            """
0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36
0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25
0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31
0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68
0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62
0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50
0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49
-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77
-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16
"""
        )
    )
    .reshape(3, 3, 10)
    .transpose(2, 0, 1)
)


def long_form(table: NDArray[np.float64]) -> tuple[list[float], list[int], list[int]]:
    parts, hands, _ = np.indices(table.shape)
    return table.ravel().tolist(), parts.ravel().tolist(), hands.ravel().tolist()


def test_dyestuff_by_mean_squares() -> None:
    # Published REML standard deviations 42.0006 and 49.5101 (lme4 documentation, from memory).
    between, within = one_way_components(DYESTUFF)
    assert between**0.5 == pytest.approx(42.0006, abs=1e-4)
    assert within**0.5 == pytest.approx(49.5101, abs=1e-4)


def test_dyestuff_by_restricted_likelihood_and_another_library() -> None:
    batches = np.repeat(np.arange(6), 5)
    found = restricted_components(DYESTUFF.ravel().tolist(), {"batch": batches.tolist()})
    assert found["batch"] ** 0.5 == pytest.approx(42.0006, abs=2e-3)
    assert found["residual"] ** 0.5 == pytest.approx(49.5101, abs=2e-3)
    other = MixedLM(DYESTUFF.ravel(), np.ones((30, 1)), batches).fit(reml=True)
    assert found["batch"] == pytest.approx(float(np.asarray(other.cov_re)[0, 0]), rel=2e-3)
    assert found["residual"] == pytest.approx(float(other.scale), rel=2e-3)


def test_unbalanced_data_agree_with_another_library() -> None:
    keep = np.array([i not in (3, 7, 8, 20, 29) for i in range(30)])
    batches, values = np.repeat(np.arange(6), 5)[keep], DYESTUFF.ravel()[keep]
    found = restricted_components(values.tolist(), {"batch": batches.tolist()})
    other = MixedLM(values, np.ones((values.size, 1)), batches).fit(reml=True)
    assert found["batch"] == pytest.approx(float(np.asarray(other.cov_re)[0, 0]), rel=5e-3)
    assert found["residual"] == pytest.approx(float(other.scale), rel=5e-3)


def test_ten_parts_by_average_and_range() -> None:
    # Published for this example: 26.68 % of total, 5.09 categories, EV 0.20188, AV 0.22963 (from memory).
    study = average_and_range(TEN_PARTS)
    assert study.share == pytest.approx(0.2668, abs=5e-5)
    assert study.categories == pytest.approx(5.09, abs=5e-3)
    assert study.repeatability == pytest.approx(0.20188, abs=3e-5)
    assert study.reproducibility == pytest.approx(0.22963, abs=6e-5)
    assert study.good_enough


def test_ten_parts_by_analysis_of_variance_and_likelihood() -> None:
    # Published for this example by analysis of variance: EV 0.199933, AV 0.226838, PV 1.042327 (from memory).
    study = analysis_of_variance(TEN_PARTS)
    assert study.repeatability == pytest.approx(0.199933, abs=1e-6)
    assert study.reproducibility == pytest.approx(0.226838, abs=1e-6)
    assert study.part == pytest.approx(1.042327, abs=1e-6)
    values, parts, hands = long_form(TEN_PARTS)
    again = likelihood_study(values, parts, hands)
    assert again.share == pytest.approx(study.share, rel=1e-4)


def test_blanks_are_allowed_by_likelihood_only() -> None:
    values, parts, hands = long_form(TEN_PARTS)
    fewer = likelihood_study(values[5:], parts[5:], hands[5:])
    assert fewer.share == pytest.approx(0.2786, abs=0.03)
    blank = TEN_PARTS.copy()
    blank[0, 0, 0] = np.nan
    with pytest.raises(ValueError, match="no blanks"):
        analysis_of_variance(blank)


def test_tolerance_share_by_hand() -> None:
    study = analysis_of_variance(TEN_PARTS)
    assert study.tolerance_share(3.0) == pytest.approx(study.gauge)


def test_range_constants_are_the_published_ones() -> None:
    # Control-chart constants d2, d3 (ASTM tables, from memory).
    for count, mean, spread in ((2, 1.128, 0.853), (3, 1.693, 0.888), (5, 2.326, 0.864), (10, 3.078, 0.797)):
        assert range_moments(count) == (pytest.approx(mean, abs=6e-4), pytest.approx(spread, abs=6e-4))


def test_study_refusals() -> None:
    with pytest.raises(ValueError, match="2 hands"):
        analysis_of_variance(TEN_PARTS[:, :1, :])
    with pytest.raises(ValueError, match="all the same"):
        restricted_components([1.0] * 6, {"part": [1, 1, 2, 2, 3, 3]})
    with pytest.raises(ValueError, match="one label"):
        restricted_components([1.0, 2.0, 3.0], {"part": [1]})
    with pytest.raises(ValueError, match="two groups"):
        one_way_components(DYESTUFF[:1])
    with pytest.raises(ValueError, match="two values"):
        range_moments(1)
    with pytest.raises(ValueError, match="readings are needed"):
        restricted_components([1.0], {"part": [1]})


def norris() -> tuple[list[float], list[float]]:
    path = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"
    rows = [line.split() for line in path.read_text().splitlines()[60:] if line.strip()]
    return [float(row[1]) for row in rows], [float(row[0]) for row in rows]


def test_norris_is_certified() -> None:
    # NIST StRD Norris, certified values; the data are read from the scipy wheel.
    line = calibration(*norris())
    assert line.offset == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-10)
    assert line.residual == pytest.approx(0.884796396144373, rel=1e-9)
    assert line.offset_uncertainty == pytest.approx(0.232818234301152, rel=1e-9)
    assert line.slope_uncertainty == pytest.approx(0.429796848199937e-03, rel=1e-9)
    assert line.freedom == 34
    assert line.needs_correction()


def test_line_used_backwards() -> None:
    line = calibration(*norris())
    truth, doubt = line.truth(500.0)
    assert truth == pytest.approx((500.0 + 0.262323073774) / 1.00211681802045)
    assert line.truth(500.0, repeats=4)[1] < doubt
    assert line.truth(line.offset + line.slope * 2000)[1] > line.truth(line.offset + line.slope * 500)[1]
    assert line.inside(500.0)
    assert not line.inside(5000.0)


def test_true_gauge_needs_no_correction() -> None:
    line = calibration([1.0, 2.0, 3.0, 4.0, 5.0], [1.01, 1.99, 3.01, 3.99, 5.0])
    assert not line.needs_correction()
    exact = calibration([1.0, 2.0, 3.0], [1.0, 2.0, 3.0])
    assert not exact.needs_correction()


def test_calibration_refusals() -> None:
    with pytest.raises(ValueError, match="three pairs"):
        calibration([1.0, 2.0], [1.0, 2.0])
    with pytest.raises(ValueError, match="all the same"):
        calibration([1.0, 1.0, 1.0], [1.0, 2.0, 3.0])
    with pytest.raises(ValueError, match="do not follow"):
        calibration([1.0, 2.0, 3.0], [5.0, 5.0, 5.0])
    with pytest.raises(ValueError, match="at least one"):
        calibration([1.0, 2.0, 3.0], [1.0, 2.0, 3.1]).truth(2.0, repeats=0)


# NIST/SEMATECH e-Handbook 6.3.2.3 and 6.3.2.4, data and results from memory.
SUMS = [
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625,
    325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
]  # fmt: skip
AVERAGES = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
    52.4, 53.6, 52.1,
]  # fmt: skip


def test_handbook_cumulative_sums() -> None:
    chart = cumulative_sums(SUMS, target=325.0, slack=0.3175, decision=4.1959)
    assert chart.first_alarm == 14
    assert chart.upper[12] < 4.1959 < chart.upper[13]


def test_handbook_weighted_average() -> None:
    chart = weighted_average(AVERAGES, target=50.0, deviation=2.0539, weight=0.3)
    assert chart.upper_limit == pytest.approx(52.5884, abs=1e-4)
    assert chart.upper[0] == pytest.approx(50.60)
    assert chart.upper[-1] == pytest.approx(51.99, abs=5e-3)
    assert chart.first_alarm is None


def test_low_side_alarms_too() -> None:
    assert cumulative_sums([-x for x in SUMS], -325.0, 0.3175, 4.1959).first_alarm == 14
    assert gauge_drift([0.0] * 20, 0.0, 1.0).first_alarm is None


def test_drift_refusals() -> None:
    with pytest.raises(ValueError, match="needs checks"):
        cumulative_sums([], 0.0, 1.0, 1.0)
    with pytest.raises(ValueError, match="weight"):
        weighted_average([1.0], 0.0, 1.0, weight=1.5)
