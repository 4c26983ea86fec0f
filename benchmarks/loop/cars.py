"""The cars of the benchmark: all round one invented car, in steady closed loop with real pulses."""

from __future__ import annotations

import numpy as np

from dwellwright.catalogue.controllers import catalogue_controllers
from dwellwright.loop.columns import Parameter
from dwellwright.loop.drive import steady_drive
from dwellwright.loop.mixture import MixtureMap
from dwellwright.loop.plant import Plant
from dwellwright.loop.schedule import car_points

CONTROLLER = catalogue_controllers()["generic-pulsed"]
SLOTS = 1024
"""Ring slots that the longest delay here needs; the C reference is told, the simulator finds it itself."""


def scattered(count: int, seed: int = 11) -> np.ndarray:
    """Parameters of that many cars, shape (cars, columns)."""
    idle = MixtureMap(0.006, 0.006 / 14.6 * 1.16, 0.006 / 14.6 * 0.86, 14.6)
    row = car_points(Plant(), steady_drive(idle, 1.0, engine_speed=14.0, throttle_voltage=0.55), CONTROLLER)[
        0
    ]
    rows = np.tile(row, (count, 1))
    rng = np.random.default_rng(seed)
    for column in (Parameter.EXCESS_RICH, Parameter.EXCESS_LEAN):
        rows[:, column] *= rng.uniform(0.97, 1.03, count)
    for column in (Parameter.DELAY, Parameter.FILM_TIME, Parameter.MIXING_TIME, Parameter.LEAN_RAMP):
        rows[:, column] *= rng.uniform(0.8, 1.2, count)
    return rows
