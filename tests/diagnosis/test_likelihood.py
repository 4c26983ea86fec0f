"""The likelihood's closed forms against SciPy's, and its reading of evidence."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal, multivariate_t

from dwellwright.carburetor.state import CarState, Field, healthy, packed
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import likelihood, loop_model
from dwellwright.diagnosis.exhaust_model import GAS_FLOOR, GAS_SHARE, gas_at
from dwellwright.diagnosis.likelihood import problem_of, scores
from dwellwright.diagnosis.readings import gathered
from dwellwright.diagnosis.scatter import shipped_scatter
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")


def seen(
    measured: Measured, regime: Regime, value: float, doubt: float, wanted: float | None = None
) -> Observation:
    return Observation(measured, regime, value, doubt, "test", wanted)


def test_log_t_is_scipys_multivariate_t() -> None:
    random = np.random.default_rng(1)
    root = random.normal(size=(5, 3, 3))
    covariance = root @ np.swapaxes(root, 1, 2) + np.eye(3)
    residual = random.normal(size=(5, 3))
    ours = likelihood._log_t(residual, covariance)
    freedom = likelihood.TAIL
    for row in range(5):
        shape = covariance[row] * (freedom - 2) / freedom  # a t of that shape has that covariance
        assert ours[row] == pytest.approx(
            multivariate_t(shape=shape, df=freedom).logpdf(residual[row]), abs=1e-10
        )


def test_the_gas_part_is_a_normal_with_lambdas_own_doubt() -> None:
    values = {Measured.CO: 0.011, Measured.CO2: 0.141, Measured.O2: 0.006}
    evidence = gathered([seen(what, Regime.IDLE, value, 0.0005) for what, value in values.items()])
    problem = problem_of(SHEET, evidence)
    states = packed([CarState(), CarState(exhaust_leak=0.05), CarState(sensor_bias=0.1)])
    found = scores(problem, states)
    held = loop_model.held_lambda(evidence, found.steady, problem.passages)[:, 0]
    by_hand = []
    for row, lam in enumerate(held):
        false_air = np.array([states[row, Field.EXHAUST_LEAK]])
        spread = np.hypot(0.012, 0.30 * (lam - 1.0))
        middle, low, high = (gas_at(np.array([lam + d]), false_air)[0] for d in (0.0, -spread, spread))
        slope = 0.5 * (high - low)
        own = 0.0005**2 + GAS_FLOOR**2 + (GAS_SHARE * middle) ** 2
        normal = multivariate_normal(middle, np.diag(own) + np.outer(slope, slope))
        by_hand.append(normal.logpdf(list(values.values())))
    differences = found.parts["gas at idle"] - found.parts["gas at idle"][0]
    assert differences == pytest.approx(np.array(by_hand) - by_hand[0], rel=1e-3, abs=1e-3)


def test_direct_readings_are_a_joint_normal() -> None:
    # Two readings of one float share its healthy scatter, so they are correlated: the covariance is written out here.
    readings = [
        seen(Measured.FLOAT_LEVEL, Regime.BENCH, 8.9e-3, 0.1e-3, 9.5e-3),
        seen(Measured.FLOAT_LEVEL_RUNNING, Regime.IDLE, 9.1e-3, 0.3e-3, 9.5e-3),
    ]
    problem = problem_of(SHEET, gathered(readings))
    found = scores(problem, healthy(1)).parts["gauges"][0]
    scatter = shipped_scatter()
    level = scatter.spreads[scatter.names.index("fuel_level")]
    pressure = 3e-8 * scatter.spreads[scatter.names.index("fuel_pressure")]
    noise = np.diag([0.1e-3**2 + 0.2e-3**2, 0.3e-3**2 + 0.4e-3**2])
    covariance = level**2 * np.ones((2, 2)) + np.diag([0.0, pressure**2]) + noise
    assert found == pytest.approx(
        multivariate_normal([0, 0], covariance).logpdf([-0.6e-3, -0.4e-3]), abs=1e-6
    )


def test_a_gauge_reading_moves_the_dwell_expected_of_a_healthy_car() -> None:
    # A lean stop found 20 thou high leaves the healthy car's dwell at speed higher than without that reading.
    high = seen(Measured.LEAN_STOP, Regime.BENCH, 90 * 25.4e-6, 10e-6, 70 * 25.4e-6)
    with_reading = scores(problem_of(SHEET, gathered([high])), healthy(1)).duty[0]
    without = scores(problem_of(SHEET, gathered([])), healthy(1)).duty[0]
    assert with_reading[1] > without[1] + 2 / 60


def test_repeats_that_disagree_lose_weight() -> None:
    agree = gathered(
        [seen(Measured.DUTY, Regime.IDLE, 0.50, 0.01), seen(Measured.DUTY, Regime.IDLE, 0.505, 0.01)]
    )
    clash = gathered(
        [seen(Measured.DUTY, Regime.IDLE, 0.40, 0.01), seen(Measured.DUTY, Regime.IDLE, 0.60, 0.01)]
    )
    one, other = (e.get(Measured.DUTY, Regime.IDLE) for e in (agree, clash))
    assert one is not None
    assert other is not None
    assert one.uncertainty == pytest.approx(0.01 / np.sqrt(2))
    assert other.uncertainty == pytest.approx(0.1)  # Birge: as wide as the readings lie apart


@pytest.mark.parametrize(("duty", "open_loop"), [(0.05, False), (0.3, True), (0.95, False)])
def test_a_standing_dwell_is_open_loop_only_away_from_the_limits(duty: float, open_loop: bool) -> None:
    # bands: common practice, no source
    evidence = gathered(
        [
            seen(Measured.DUTY, Regime.CRUISE, duty, 0.001),
            seen(Measured.CLOSED_LOOP_SHARE, Regime.CRUISE, 0.0, 0.02),
        ]
    )
    assert evidence.is_open_loop(Regime.CRUISE) is open_loop
