"""Nearest neighbors on symptoms, taught on cars drawn from the tool's own model."""

from __future__ import annotations

import numpy as np
from calibration import drawn_causes
from held_out_model import SHEET

from dwellwright.carburetor.state import Field
from dwellwright.diagnosis.hypotheses import Causes, range_of
from dwellwright.diagnosis.likelihood import problem_of, scores
from dwellwright.diagnosis.readings import gathered

CLOSEST = 15


class Neighbors:
    """Cars whose causes are known, by dwell in three regimes and limit cycle at idle."""

    def __init__(self, causes: Causes, cars: int, random: np.random.Generator) -> None:
        """Draw the cars and work out their symptoms."""
        ranges = [range_of(cause) for cause in causes.causes]
        problem, self.members, states = problem_of(SHEET, gathered([])), [], []
        for _ in range(cars):
            held = drawn_causes(causes, random) or (int(random.integers(len(ranges))),)
            held = () if random.random() < 0.1 else held
            sizes = np.array([ranges[k].spread_evenly(random.random(1))[0] for k in held])
            states.append(causes.states(held, sizes[None])[0])
            self.members.append(held)
        own = np.array(states)
        scatter = problem.scatter
        own += (random.normal(size=(cars, len(scatter.spreads))) * scatter.spreads) @ scatter.directions
        slow = np.log1p(0.23 * np.maximum(own[:, Field.SENSOR_LAG], 0.0)) + 0.2 * random.normal(size=cars)
        self.symptoms = np.column_stack([scores(problem, own).duty / 0.05, slow / 0.2])
        self.count = len(ranges)

    def order(self, duty: np.ndarray, period: float) -> tuple[list[int], bool]:
        """Causes by votes of the closest cars, and whether most of those were healthy."""
        seen = np.append(duty / 0.05, np.log(period / 1.75) / 0.2)
        near = np.argsort(np.sum((self.symptoms - seen) ** 2, axis=1))[:CLOSEST]
        votes = np.zeros(self.count)
        for car in near:
            votes[list(self.members[car])] += 1.0
        healthy = sum(not self.members[car] for car in near) > CLOSEST / 2
        return [int(k) for k in np.argsort(-votes, kind="stable")], healthy
