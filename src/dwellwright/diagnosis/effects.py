"""An estimate of the steady solution from each cause's own effect: quick enough to try every set of three causes.

Each cause is taken through the model once, alone, along its range. A set's fuel and air are the healthy car's times
the product of those effects. That leaves out how causes change one another's effect, so it only decides which sets
are worth the model; what is told of a likely set always comes from the model itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.steady import COLUMN
from dwellwright.compiled import njit
from dwellwright.diagnosis.hypotheses import Causes, range_of
from dwellwright.diagnosis.likelihood import Problem, steady_of
from dwellwright.diagnosis.readings import Float

KNOTS = 33
"""Sizes at which each cause is taken through the model; between them its effect is a straight line."""
SCALED = (COLUMN.fuel_rich, COLUMN.fuel_lean, COLUMN.demand, COLUMN.air, COLUMN.target_lambda,
          COLUMN.stoichiometric_ratio)  # fmt: skip
"""Columns whose effects multiply."""
DUTY = COLUMN.duty
FARTHEST = 1e6
"""Share of the travel told where the two ends give the same fuel. [-]"""


@dataclass(frozen=True)
class Effects:
    """Effects of every cause alone.

    Args:
        passages: of the unit.
        start: smallest size tabulated, shape (causes,). [SI or turns]
        step: between sizes, shape (causes,). [SI or turns]
        base: steady solution of the healthy car, shape (3, columns).
        logs: log of each scaled column over the healthy car's, shape (causes, KNOTS, 3, scaled columns).
        duty: change of duty, shape (causes, KNOTS, 3).
    """

    passages: Passages
    start: Float
    step: Float
    base: Float
    logs: Float
    duty: Float

    def steady(self, members: NDArray[np.int64], magnitudes: Float) -> Float:
        """Estimated steady solution of cars that each have their own causes, shape (cars, 3, columns).

        Args:
            members: positions of each car's causes, shape (cars, causes held).
            magnitudes: their sizes, same shape. [SI or turns]
        """
        out: Float = _composed(
            members, magnitudes, self.start, self.step, self.base, self.logs, self.duty, SCALED
        )
        if self.passages.positional < 0.5 and self.passages.regulated_vacuum <= 0.0:
            out[:, :, COLUMN.duty] = self._pulsed_duty(out)
        return out

    def _pulsed_duty(self, steady: Float) -> Float:
        """Duty at which a pulsed actuator's mean meets the demand."""
        rich, lean = steady[:, :, COLUMN.fuel_rich], steady[:, :, COLUMN.fuel_lean]
        span = rich - lean
        over = rich - steady[:, :, COLUMN.demand]
        share = np.where(span > 1e-12, over / np.maximum(span, 1e-12), np.sign(over) * FARTHEST)
        lean_first = self.passages.energized_is_lean > 0.5
        duty: Float = (share if lean_first else 1.0 - share) - self.passages.solenoid_duty_shift
        return duty


@njit(cache=True, nogil=True)
def _composed(members, magnitudes, start, step, base, logs, duty, scaled):  # type: ignore[no-untyped-def]
    """Each car's steady solution: the healthy one times its causes' effects; duty is the sum of theirs."""
    knots, points, columns = logs.shape[1:]
    out = np.empty((members.shape[0], points, base.shape[1]))
    told = np.empty((points, columns))
    for car in range(members.shape[0]):
        out[car] = base
        told[:] = 0.0
        for held in range(members.shape[1]):
            k = members[car, held]
            along = min(max((magnitudes[car, held] - start[k]) / step[k], 0.0), knots - 1.0)
            cell = min(int(along), knots - 2)
            part = along - cell
            told += (1.0 - part) * logs[k, cell] + part * logs[k, cell + 1]
            for point in range(points):
                out[car, point, DUTY] += (1.0 - part) * duty[k, cell, point] + part * duty[k, cell + 1, point]
        for point in range(points):
            for column in range(columns):
                out[car, point, scaled[column]] *= np.exp(told[point, column])
    return out


def effects_of(problem: Problem, causes: Causes) -> Effects:
    """Effects of every cause alone, from one call of the model."""
    ranges = [range_of(cause) for cause in causes.causes]
    start = np.array([-one.most if one.two_sided else 0.0 for one in ranges])
    step = (np.array([one.most for one in ranges]) - start) / (KNOTS - 1)
    sizes = start[:, None] + step[:, None] * np.arange(KNOTS)
    own = causes.states((), np.zeros((1, 0)))
    states = own + sizes[:, :, None] * causes.effects[:, None, :]
    whole = steady_of(problem, np.vstack([own, states.reshape(-1, states.shape[2])]))
    base = whole[0]
    table = whole[1:].reshape(len(ranges), KNOTS, *whole.shape[1:])
    least = np.abs(base[:, SCALED]) * 1e-3
    logs = np.log(np.maximum(table[:, :, :, SCALED], least) / base[:, SCALED])
    limit = np.clip(table[:, :, :, COLUMN.duty] - base[:, COLUMN.duty], -2.0, 2.0)
    return Effects(problem.passages, start, step, base, logs, limit)
