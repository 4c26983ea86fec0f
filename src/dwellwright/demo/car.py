"""The invented car of the demonstration: what is wrong with it, and the drive it is recorded on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.state import CarState

SHEET = "two-barrel-v6"
CONTROLLER = "generic-pulsed"

AS_FOUND = CarState(
    lean_stop=48 * 0.0254e-3, needle_left=0.4, needle_right=0.4, idle_scale=1.06, main_scale=0.99
)
"""The stated fault: the last rebuilder set the lean stop by eye, 48 thou high, and turned both idle needles 0.4 turn
out. The two scales are this unit's own build scatter, no fault; they are why the needles get their last move on the
car. Everything else is as the sheet says."""

Floats = NDArray[np.float64]

KPA, RPM, KMH = 1e3, 1 / 60, 1 / 3.6
AMBIENT = 101.3
KEY_ON, START = 6.0, 7.5

_KNOTS = (
    # time s, speed rpm, manifold kPa, throttle V, road km/h
    (0.0, 0, AMBIENT, 0.52, 0),
    (KEY_ON, 0, AMBIENT, 0.52, 0),
    (START, 1050, 45.0, 0.52, 0),
    (90.0, 850, 36.0, 0.52, 0),
    (150.0, 705, 33.8, 0.52, 0),
    (290.0, 700, 33.8, 0.52, 0),
    (296.0, 3000, 40.4, 1.72, 0),
    (346.0, 3000, 40.4, 1.72, 0),
    (352.0, 710, 33.9, 0.53, 0),
    (412.0, 700, 33.8, 0.52, 0),
    (420.0, 1700, 62.0, 1.55, 22),
    (436.0, 2250, 66.0, 1.95, 62),
    (446.0, 2300, 58.0, 1.84, 80),
    (546.0, 2300, 58.0, 1.84, 80),
    (549.0, 2500, 96.0, 4.60, 84),
    (556.0, 3200, 96.0, 4.60, 104),
    (559.0, 2900, 24.0, 0.52, 103),
    (572.0, 1500, 25.0, 0.52, 52),
    (582.0, 720, 34.0, 0.52, 0),
    (640.0, 700, 33.8, 0.52, 0),
)
"""Key on, start, warm idle, 3000 rpm without load, idle, cruise, one full pull, overrun, idle. Invented."""


@dataclass(frozen=True, eq=False)
class Profile:
    """The drive at its points; arrays of one length, SI."""

    time: Floats
    engine_speed: Floats
    manifold_pressure: Floats
    throttle_voltage: Floats
    road_speed: Floats
    coolant_temperature: Floats
    sensor_temperature: Floats


def profile(seed: int, step: float = 0.5) -> Profile:
    """The drive of the demonstration, with an engine's own unrest.

    Args:
        seed: of the unrest; two drives with different seeds are never alike.
        step: between points. [s]
    """
    knots = np.array(_KNOTS, dtype=np.float64)
    time = np.arange(0.0, knots[-1, 0] + step / 2, step)
    speed, pressure, throttle, road = (np.interp(time, knots[:, 0], knots[:, k]) for k in range(1, 5))
    rng = np.random.default_rng(seed)
    running = speed > 300.0
    speed = np.where(running, speed + unrest(rng, time.size, 6.0), speed)
    pressure = np.where(running, pressure + unrest(rng, time.size, 0.18), pressure)
    warmth = 1.0 - np.exp(-np.maximum(time - START, 0.0) / 95.0)
    heat = 1.0 - np.exp(-np.maximum(time - START, 0.0) / 28.0)
    return Profile(
        time=time,
        engine_speed=speed * RPM,
        manifold_pressure=pressure * KPA,
        throttle_voltage=throttle,
        road_speed=road * KMH,
        coolant_temperature=273.15 + 22.0 + 68.0 * warmth,
        sensor_temperature=330.0 + heat * (330.0 + 130.0 * np.clip(speed / 2300.0, 0.0, 1.0)),
    )


def unrest(rng: np.random.Generator, size: int, spread: float) -> Floats:
    """A slow wander about zero of that standard deviation; neighboring points stay near each other."""
    memory = 0.8
    steps = rng.normal(0.0, spread * (1.0 - memory**2) ** 0.5, size)
    wander = np.zeros(size)
    for k in range(1, size):
        wander[k] = memory * wander[k - 1] + steps[k]
    return wander
