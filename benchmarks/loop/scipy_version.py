"""The same car with SciPy: `solve_ivp` from event to event, as one would write it without this program.

Solenoid edges are known and cut the integration; a switch of the sensor is found by a terminal event. The transport
delay reads burnt mixture back from a grid of one millisecond, filled from the dense output of each piece.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp

from dwellwright.loop.columns import Parameter as Param
from dwellwright.loop.columns import Setting
from dwellwright.physics.switching import switching_voltage

GRID = 1e-3


class ScipyCar:
    """One car; state is well, film, mixture at the sensor, sensor voltage."""

    def __init__(self, row: np.ndarray, settings: np.ndarray, pulse_period: float) -> None:
        self.p = {member: float(row[member]) for member in Param}
        self.threshold, self.bias = float(settings[Setting.THRESHOLD]), float(settings[Setting.INPUT_BIAS])
        self.period = pulse_period
        p = self.p
        self.per_air = 1.0 / (p[Param.AIR_FLOW] * (1.0 + p[Param.FALSE_AIR]))
        duty = p[Param.START_DUTY]
        self.fuel = (1 - duty) * p[Param.EXCESS_RICH] + duty * p[Param.EXCESS_LEAN]
        fuel = self.fuel * p[Param.AIR_FLOW]
        self.history = np.array([fuel * self.per_air])
        mixed = float(self.history[0])
        well, film = p[Param.WELL_TIME] * fuel, p[Param.FILM_SHARE] * p[Param.FILM_TIME] * fuel
        self.state = np.array([well, film, mixed, self.voltage(mixed)])
        self.integral, self.rich = duty, self.state[3] > self.threshold
        self.filled = 0.0

    def voltage(self, excess: float) -> float:
        """What the sensor would settle to at the controller's input. [V]"""
        p = self.p
        seen = 1.0 / (excess + p[Param.SENSOR_SHIFT])
        own = switching_voltage(
            seen, p[Param.RICH_LEVEL], p[Param.RICH_RISE], p[Param.RICH_OFFSET], p[Param.LEAN_LEVEL],
            p[Param.LEAN_RISE], p[Param.LEAN_OFFSET], p[Param.SWITCH_WIDTH], 0.0,
        )  # fmt: skip
        weight = p[Param.SENSOR_WEIGHT]
        return weight * own + (1.0 - weight) * self.bias

    def delayed(self, time: float) -> float:
        """Mixture that left the manifold one delay ago. [-]"""
        place = (time - self.p[Param.DELAY]) / GRID
        if place <= 0:
            return float(self.history[0])
        whole = int(place)
        near = self.history[whole]
        return float(near + (place - whole) * (self.history[min(whole + 1, len(self.history) - 1)] - near))

    def rates(self, time: float, state: np.ndarray) -> list[float]:
        """Right-hand side."""
        p = self.p
        well, film, mixed, volts = state.tolist()
        given = well / p[Param.WELL_TIME]
        target = self.voltage(mixed)
        lag = p[Param.LEAN_TO_RICH_TIME] if target > volts else p[Param.RICH_TO_LEAN_TIME]
        return [
            self.fuel * p[Param.AIR_FLOW] - given,
            p[Param.FILM_SHARE] * given - film / p[Param.FILM_TIME],
            (self.delayed(time) - mixed) / p[Param.MIXING_TIME],
            (target - volts) / lag,
        ]

    def run(self, duration: float) -> tuple[float, int]:
        """Mean duty over the second half, and the number of right-hand sides evaluated."""
        duties, calls, time = [], 0, 0.0
        for number in range(round(duration / self.period)):
            start = number * self.period
            p = self.p
            duty = self.integral + (1 if self.rich else -1) * p[Param.JUMP]
            duty = min(max(duty, p[Param.LOW_LIMIT]), p[Param.HIGH_LIMIT])
            duties.append(duty)
            place = min(max(duty + p[Param.DROP_OUT] - p[Param.PULL_IN], 0.0), 1.0)
            for stop, fuel in ((place, p[Param.EXCESS_LEAN]), (1.0, p[Param.EXCESS_RICH])):
                self.fuel = fuel
                calls += self._until(time, start + stop * self.period)
                time = start + stop * self.period
        return float(np.mean(duties[len(duties) // 2 :])), calls

    def _until(self, time: float, stop: float) -> int:
        """Integrate to a time, through however many switches of the sensor."""

        def switch(_: float, state: np.ndarray) -> float:
            return float(state[3] - self.threshold)

        switch.terminal = True  # type: ignore[attr-defined]
        calls = 0
        while stop - time > 1e-12:
            switch.direction = -1 if self.rich else 1  # type: ignore[attr-defined]
            got = solve_ivp(
                self.rates,
                (time, stop),
                self.state,
                events=switch,
                dense_output=True,
                rtol=1e-5,
                atol=1e-8,
                max_step=0.05,
            )
            calls += got.nfev
            self._remember(got.sol, time, got.t[-1])
            ramp = self.p[Param.LEAN_RAMP] if self.rich else -self.p[Param.RICH_RAMP]
            self.integral += ramp * (got.t[-1] - time)
            self.integral = min(max(self.integral, self.p[Param.LOW_LIMIT]), self.p[Param.HIGH_LIMIT])
            time, self.state = got.t[-1], got.y[:, -1]
            self.rich = not self.rich if got.status == 1 else self.rich
        return calls

    def _remember(self, solution: object, begin: float, end: float) -> None:
        first, last = len(self.history), int(end / GRID)
        if last < first:
            return
        well, film = solution(np.arange(first, last + 1) * GRID)[:2]  # type: ignore[operator]
        p = self.p
        burnt = (1 - p[Param.FILM_SHARE]) * well / p[Param.WELL_TIME] + film / p[Param.FILM_TIME]
        self.history = np.append(self.history, burnt * self.per_air)
