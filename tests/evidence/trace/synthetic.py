"""An invented car in closed loop, recorded: a relay loop with delay, lag, jump and ramp, and a drive around it.

Written for these tests alone and sharing nothing with the product, so that what goes in is known.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
STEP = 0.01


@dataclass
class Phase:
    """One stretch of a drive. Speeds in rpm and km/h, pressure in kPa."""

    name: str
    seconds: float
    rpm: float
    pressure: float
    throttle: float
    road: float = 0.0
    closed: bool = True
    needed: float = 0.5
    delay: float = 0.3
    fixed: float = 0.45
    drift: float = 0.0
    wander: float = 0.0


def usual_drive(**idle: float) -> list[Phase]:
    """Key on, warm-up, idle, 3000, idle, pull, cruise, overrun, short idle."""
    warm = {"needed": 0.5, "delay": 0.4} | idle
    return [
        Phase("key-on", 5, 0, 100.0, 0.5, closed=False, fixed=0.0),
        Phase("cranking", 1, 200, 97.0, 0.5, closed=False, fixed=0.3),
        Phase("warm-up", 90, 1100, 38.0, 0.9, closed=False, fixed=0.45),
        Phase("idle", 60, 750, 34.0, 0.55, **warm),
        Phase("3000", 50, 3000, 40.0, 1.7, needed=0.55, delay=0.25),
        Phase("idle", 70, 750, 34.0, 0.55, **warm),
        Phase("pull", 8, 2600, 97.0, 4.2, 60, closed=False, fixed=0.08),
        Phase("cruise", 60, 2300, 58.0, 1.9, 85, needed=0.48, delay=0.25),
        Phase("overrun", 8, 1800, 18.0, 0.55, 50, closed=False, fixed=0.5),
        Phase("idle", 10, 750, 34.0, 0.55, **warm),
    ]


@dataclass
class Car:
    """The record at 100 Hz and where each phase lies."""

    time: Values
    columns: dict[str, Values]
    windows: list[tuple[str, float, float]]
    phases: list[Phase] = field(default_factory=list)

    def window(self, name: str) -> tuple[float, float]:
        """Begin and end of the last long phase of that name."""
        long = [w for w in self.windows if w[0] == name and w[2] - w[1] > 20]
        return long[-1][1], long[-1][2]

    def duty_mean(self, name: str, settling: float = 15.0) -> float:
        """True mean of duty in a phase after settling."""
        begin, end = self.window(name)
        inside = (self.time > begin + settling) & (self.time < end)
        return float(self.columns["duty"][inside].mean())


def driven(
    phases: list[Phase], *, seed: int = 1, lag: float = 0.12, ramp: float = 0.06, jump: float = 0.02
) -> Car:
    """Drive an invented car. Lag is the sensor's [s], ramp the integrator's [1/s], jump the proportional step."""
    rng = np.random.default_rng(seed)
    count = sum(round(p.seconds / STEP) for p in phases)
    duty, sensor = np.zeros(count), np.zeros(count)
    rpm, pressure, throttle, road = (np.zeros(count) for _ in range(4))
    windows, row, integral, voltage, slow = [], 0, 0.5, 0.45, 0.0
    for phase in phases:
        first, length = row, round(phase.seconds / STEP)
        back = round(phase.delay / STEP)
        for i in range(first, first + length):
            share = (i - first) / length
            slow += -slow * STEP / 3.0 + phase.wander * np.sqrt(2 * STEP / 3.0) * rng.standard_normal()
            rich = voltage > 0.45
            if phase.closed:
                integral = min(max(integral + (ramp if rich else -ramp) * STEP, 0.02), 0.98)
                duty[i] = min(max(integral + (jump if rich else -jump), 0.02), 0.98)
            else:
                duty[i] = phase.fixed
            lean = duty[max(i - back, 0)] - (phase.needed + phase.drift * share + slow)
            aim = 0.85 - 0.8 / (1 + np.exp(-lean / 0.012))
            voltage += (aim - voltage) * STEP / lag
            sensor[i] = voltage
        span = slice(first, first + length)
        rpm[span], pressure[span], throttle[span], road[span] = (
            phase.rpm,
            phase.pressure,
            phase.throttle,
            phase.road,
        )
        windows.append((phase.name, first * STEP, (first + length) * STEP))
        row += length
    smooth = np.exp(-np.arange(0, 5, STEP) / 0.5)
    smooth /= smooth.sum()
    rpm, pressure, throttle, road = (
        np.convolve(np.concatenate((np.full(smooth.size - 1, x[0]), x)), smooth, mode="valid")
        for x in (rpm, pressure, throttle, road)
    )
    time = np.arange(count) * STEP
    coolant = 90.0 - 65.0 * np.exp(-time / 28.0)
    noise = rng.standard_normal
    meter = np.convolve(np.concatenate((np.full(29, duty[0]), duty)), np.full(30, 1 / 30), mode="valid")
    columns = {
        "rpm": np.where(rpm > 20, np.round((rpm * (1 + 0.01 * noise(count))) / 12.5) * 12.5, 0.0),
        "map_kpa": pressure + 0.5 * noise(count),
        "tps_v": throttle + 0.008 * noise(count),
        "coolant_c": np.round(coolant),
        "o2_mv": np.round((1000 * sensor + 6 * noise(count)) / 4.4) * 4.4,
        "duty": duty,
        "dwell_deg": np.clip(60 * meter + 0.1 * noise(count), 0.0, 60.0),
        "speed_kmh": np.where(road > 0.5, road, 0.0),
    }
    return Car(time, columns, windows, phases)


COLUMNS = ("rpm", "map_kpa", "tps_v", "coolant_c", "o2_mv", "dwell_deg", "speed_kmh")


def written(
    car: Car,
    path: Path,
    *,
    rate: float = 15.0,
    seed: int = 2,
    leave_out: tuple[str, ...] = (),
    offset: float = 3.0,
) -> Path:
    """A log of the car at a rate with jitter and blanks. [1/s]"""
    rng = np.random.default_rng(seed)
    step = 1.0 / rate
    instants = np.arange(0, car.time[-1], step)
    instants = np.clip(instants + rng.uniform(-0.2, 0.2, instants.size) * step, 0, car.time[-1])
    instants = np.unique(np.round(instants, 3))
    rows = np.clip((instants / STEP).astype(int), 0, car.time.size - 1)
    names = [name for name in COLUMNS if name not in leave_out]
    cells = [[f"{v:.3f}" for v in instants + offset]]
    for name in names:
        text = np.array([f"{v:.2f}" for v in car.columns[name][rows]], dtype=object)
        text[rng.random(text.size) < 0.002] = ""
        cells.append(list(text))
    lines = [",".join(("time_s", *names)), *(",".join(row) for row in zip(*cells, strict=True))]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
