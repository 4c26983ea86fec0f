"""How well each state explains the evidence: log-likelihood of many cars at once, in named parts.

Healthy scatter enters linearly (its Jacobian taken once, at the healthy car) and is integrated out exactly; direct
readings tie it down first. What the model itself does not know enters as stated discrepancy on the dwell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from dwellwright.carburetor.air import operating_point
from dwellwright.carburetor.passages import Passages, passages_of
from dwellwright.carburetor.prediction import POINT_NAMES
from dwellwright.carburetor.state import healthy
from dwellwright.carburetor.steady import COLUMN, steady_batch
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.diagnosis.answers import answer_parts
from dwellwright.diagnosis.loop_model import loop_parts
from dwellwright.diagnosis.readings import HELD_LIMITS, REGIMES, Evidence, Float
from dwellwright.diagnosis.scatter import Scatter, shipped_scatter
from dwellwright.diagnosis.settings_model import DirectReading, direct_readings
from dwellwright.evidence.observation import Measured

TAIL = 10.0
"""Degrees of freedom of the t distribution for dwell: an odd reading costs less than a normal would say, assumed."""
SCATTER_STEP = 0.5
"""Step of the scatter's Jacobian, in its own standard deviations. [-]"""


@dataclass(frozen=True)
class Problem:
    """Everything about one car that does not change between hypotheses.

    Args:
        sheet: of the unit.
        passages: of the unit.
        evidence: merged.
        scatter: healthy spread.
        direct: direct readings.
        jacobian: change of wanted duty per scatter direction, shape (3, directions). [1/SI]
        base_duty: wanted duty of the healthy car, shape (3,). [-]
        gain: what a deviation of the direct readings says of the scatter, shape (directions, readings).
        remaining: covariance of the scatter once the direct readings are known, shape (directions, directions).
        reading_factor: Cholesky factor of the readings' covariance.
        duty: observed duty by regime, nan where there is none, shape (3,).
        duty_variance: of the same as measured.
        open_loop: regimes whose dwell is a fixed command, shape (3,).
    """

    sheet: SpecSheet
    passages: Passages
    evidence: Evidence
    scatter: Scatter
    direct: list[DirectReading]
    jacobian: Float
    base_duty: Float
    gain: Float
    remaining: Float
    reading_factor: Float
    duty: Float
    duty_variance: Float
    open_loop: NDArray[np.bool_]


def problem_of(sheet: SpecSheet, evidence: Evidence, scatter: Scatter | None = None) -> Problem:
    """The problem for a sheet and its evidence.

    Args:
        sheet: of the unit.
        evidence: merged.
        scatter: healthy spread and the model's doubt; the shipped ones where None.
    """
    scatter, passages = scatter or shipped_scatter(), passages_of(sheet)
    jacobian, base = _jacobian(sheet, passages, scatter)
    direct = readings_against(sheet, evidence, scatter)
    gain, remaining, factor = _conditioned(scatter, direct, passages)
    duty, variance = np.full(3, np.nan), np.full(3, np.inf)
    for k, regime in enumerate(REGIMES):
        if (reading := evidence.get(Measured.DUTY, regime)) is not None:
            duty[k], variance[k] = reading.value, reading.uncertainty**2
    still = np.array([evidence.is_open_loop(regime) for regime in REGIMES])
    return Problem(sheet, passages, evidence, scatter, direct, jacobian, base, gain, remaining, factor, duty,
                   variance, still)  # fmt: skip


def readings_against(sheet: SpecSheet, evidence: Evidence, scatter: Scatter) -> list[DirectReading]:
    """Every direct reading as a deviation from what it came with, or from the sheet's figure."""
    wanted = {Measured(k): s.wanted.si for k, s in sheet.settings.items() if k in Measured._value2member_map_}
    return direct_readings(evidence, scatter.loop["warm_coolant"], wanted)


def _jacobian(sheet: SpecSheet, passages: Passages, scatter: Scatter) -> tuple[Float, Float]:
    """Change of wanted duty per scatter direction, and the wanted duty itself, of the healthy car."""
    count = len(scatter.names)
    states = healthy(2 * count + 1)
    steps = SCATTER_STEP * scatter.spreads
    states[1 : count + 1] += scatter.directions * steps[:, None]
    states[count + 1 :] -= scatter.directions * steps[:, None]
    points = [operating_point(sheet, name) for name in POINT_NAMES]
    duty = steady_batch(passages, states, points)[:, :, COLUMN.duty]
    slopes: Float = (duty[1 : count + 1] - duty[count + 1 :]) / (2.0 * steps[:, None])
    base: Float = duty[0]
    return slopes.T, base


def _conditioned(
    scatter: Scatter, direct: list[DirectReading], passages: Passages
) -> tuple[Float, Float, Float]:
    """What the direct readings say of the healthy scatter: gain, covariance left, factor of the readings' own."""
    prior = np.diag(scatter.spreads**2)
    if not direct:
        return np.zeros((len(scatter.spreads), 0)), prior, np.zeros((0, 0))
    base = healthy(len(scatter.names) + 1)
    base[1:] += scatter.directions * scatter.spreads[:, None]
    seen = np.column_stack([reading.predicted(base, passages, 0.0) for reading in direct])
    slopes = ((seen[1:] - seen[0]) / scatter.spreads[:, None]).T
    noise = np.diag([reading.uncertainty**2 for reading in direct])
    covariance = slopes @ prior @ slopes.T + noise
    gain: Float = np.linalg.solve(covariance, slopes @ prior).T
    remaining: Float = prior - gain @ slopes @ prior
    return gain, remaining, np.linalg.cholesky(covariance)


@dataclass(frozen=True)
class Scores:
    """Log-likelihood of each state, by part.

    Args:
        parts: log-likelihood by the name of the evidence, each of shape (states,).
        duty: duty that each state predicts, scatter as the readings tie it down, shape (states, 3). [-]
        steady: the steady solution, shape (states, 3, columns).
    """

    parts: dict[str, Float]
    duty: Float
    steady: Float

    @property
    def total(self) -> Float:
        """Sum of the parts, shape (states,)."""
        summed: Float = np.sum(list(self.parts.values()), axis=0)
        return summed

    def cut(self, start: int, stop: int) -> Scores:
        """The same for some of the states."""
        parts = {name: part[start:stop] for name, part in self.parts.items()}
        return Scores(parts, self.duty[start:stop], self.steady[start:stop])


def steady_of(problem: Problem, states: Float) -> Float:
    """Steady states of cars at the three points the likelihood asks about, shape (states, 3, columns)."""
    points = [operating_point(problem.sheet, name) for name in POINT_NAMES]
    return steady_batch(problem.passages, states, points)


def scores(problem: Problem, states: Float, steady: Float | None = None) -> Scores:
    """Log-likelihood of every state (shape (states, FIELD_COUNT)) under the evidence.

    Args:
        problem: the car's.
        states: packed states.
        steady: their steady solution where it is known or estimated; worked out by the model where None.
    """
    steady = steady_of(problem, states) if steady is None else steady
    idle = operating_point(problem.sheet, POINT_NAMES[0])
    readings, parts = _reading_part(problem, states, idle.manifold_pressure)
    wanted = steady[:, :, COLUMN.duty]
    duty = np.clip(wanted + readings @ (problem.jacobian @ problem.gain).T, *HELD_LIMITS)
    parts["dwell"] = dwell_part(problem, duty, wanted)
    parts |= loop_parts(problem.evidence, problem.scatter, states, steady, problem.passages)
    parts |= answer_parts(problem.evidence, problem.scatter, problem.passages, idle, states, steady)
    return Scores(parts, duty, steady)


def _reading_part(
    problem: Problem, states: Float, manifold_pressure: float
) -> tuple[Float, dict[str, Float]]:
    """Residuals of the direct readings, shape (states, readings), and their log-likelihood."""
    if not problem.direct:
        return np.zeros((len(states), 0)), {}
    vacuum = 101325.0 - manifold_pressure
    predicted = np.column_stack([one.predicted(states, problem.passages, vacuum) for one in problem.direct])
    residual = np.array([one.deviation for one in problem.direct]) - predicted
    whitened = np.linalg.solve(problem.reading_factor, residual.T)
    spread = float(np.sum(np.log(np.diag(problem.reading_factor)))) + 0.9189385332046727 * len(problem.direct)
    return residual, {"gauges": -0.5 * np.sum(whitened**2, axis=0) - spread}


def dwell_part(
    problem: Problem, duty: Float, wanted: Float, effect: Float | float = 1.0, floor: Float | float = 1.0
) -> Float:
    """Log-likelihood of the observed duty in the regimes that found it themselves, shape (states,).

    Args:
        problem: the car's.
        duty: that each state predicts, scatter as the readings tie it down, shape (states, 3). [-]
        wanted: that each state would have without scatter, shape (states, 3). [-]
        effect: the model's doubt of a cause's effect over the problem's own, one or of shape (states, 3). [-]
        floor: its doubt of a healthy car's duty over the problem's own, one or of shape (states,). [-]
    """
    use = np.flatnonzero(np.isfinite(problem.duty) & ~problem.open_loop)
    if not len(use):
        return np.zeros(len(duty))
    shift = (np.clip(wanted, *HELD_LIMITS) - np.clip(problem.base_duty, *HELD_LIMITS))[:, use]
    scatter = problem.jacobian[use] @ problem.remaining @ problem.jacobian[use].T
    model, doubted = problem.scatter.discrepancy, np.broadcast_to(effect, duty.shape)[:, use] * shift
    stack = scatter[None] + model.shared**2 * doubted[:, :, None] * doubted[:, None, :]
    own = problem.duty_variance[use] + np.square(model.floor * np.asarray(floor))[..., None]
    stack[:, np.arange(len(use)), np.arange(len(use))] += own + (model.regime * doubted) ** 2
    residual = problem.duty[use] - duty[:, use]
    return _log_t(residual, stack)


def _log_t(residual: Float, covariance: Float) -> Float:
    """Log density of a multivariate t with `TAIL` degrees of freedom and that covariance, per row.

    The factor is worked out entry by entry over all rows at once: for two or three regimes that is several times
    faster than a stack of library calls.
    """
    size = residual.shape[1]
    scale = (TAIL - 2.0) / TAIL
    factor: dict[tuple[int, int], Float] = {}
    whitened: list[Float] = []
    spread, square = np.zeros(len(residual)), np.zeros(len(residual))
    for i in range(size):
        for j in range(i):
            entry = scale * covariance[:, i, j] - sum(factor[i, k] * factor[j, k] for k in range(j))
            factor[i, j] = entry / factor[j, j]
        factor[i, i] = np.sqrt(scale * covariance[:, i, i] - sum(factor[i, k] ** 2 for k in range(i)))
        white = (residual[:, i] - sum(factor[i, k] * whitened[k] for k in range(i))) / factor[i, i]
        whitened.append(white)
        spread += np.log(factor[i, i])
        square += white**2
    constant = gammaln(0.5 * (TAIL + size)) - gammaln(0.5 * TAIL) - 0.5 * size * np.log(TAIL * np.pi)
    density: Float = constant - spread - 0.5 * (TAIL + size) * np.log1p(square / TAIL)
    return density
