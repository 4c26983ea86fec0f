"""Cars with parts taken out, so that the closed forms apply, and one with everything in."""

from __future__ import annotations

import numpy as np

from dwellwright.catalogue.controllers import catalogue_controllers
from dwellwright.loop.batch import simulate_batch, steady_schedule
from dwellwright.loop.columns import Parameter as Param
from dwellwright.loop.columns import Statistic

CONTROLLER = catalogue_controllers()["generic-pulsed"]

IDEAL = {
    Param.EXCESS_RICH: 1.15, Param.EXCESS_LEAN: 0.85, Param.AIR_FLOW: 0.005, Param.DELAY: 0.3,
    Param.SENSOR_WEIGHT: 1.0, Param.RICH_LEVEL: 0.8, Param.RICH_OFFSET: 0.01, Param.LEAN_LEVEL: 0.1,
    Param.LEAN_OFFSET: 0.01, Param.SWITCH_WIDTH: 1e-7, Param.LEAN_RAMP: 0.05, Param.RICH_RAMP: 0.05,
    Param.HIGH_LIMIT: 1.0, Param.START_DUTY: 0.4,
}  # fmt: skip
"""No film, no well, no mixing, a sensor that is a switch at 0.45 V midway, a solenoid without lateness."""

REAL = IDEAL | {
    Param.DELAY: 0.6, Param.FILM_SHARE: 0.3, Param.FILM_TIME: 0.6, Param.MIXING_TIME: 0.25, Param.WELL_TIME: 0.12,
    Param.LEAN_TO_RICH_TIME: 0.06, Param.RICH_TO_LEAN_TIME: 0.09, Param.RICH_LEVEL: 1.0, Param.RICH_RISE: -0.006,
    Param.RICH_OFFSET: 0.033, Param.LEAN_LEVEL: 0.03, Param.LEAN_RISE: 0.0022, Param.LEAN_OFFSET: 0.026,
    Param.SWITCH_WIDTH: 1e-3, Param.PULL_IN: 0.06, Param.DROP_OUT: 0.04, Param.JUMP: 0.01, Param.LOW_LIMIT: 0.1,
    Param.HIGH_LIMIT: 0.9,
}  # fmt: skip
"""Everything in, at numbers within the priors of the design."""


def cars(*changes: dict[Param, float], base: dict[Param, float] = IDEAL) -> np.ndarray:
    """One row per set of changes."""
    rows = np.zeros((len(changes), len(Param)))
    for row, change in zip(rows, changes, strict=True):
        for column, value in (base | change).items():
            row[column] = value
    return rows


def settled(
    rows: np.ndarray,
    *,
    settle: float = 30.0,
    duration: float = 130.0,
    step: float = 1e-3,
    averaged: bool = True,
) -> dict[Statistic, np.ndarray]:
    """Statistics after a settling segment, one array over the cars per statistic."""
    schedule = steady_schedule(CONTROLLER, duration, segments=(settle,), step=step, averaged=averaged)
    out = simulate_batch(rows, schedule, threads=1)[:, 1]
    return {member: out[:, member] for member in Statistic}
