"""What each piece of evidence says for or against a cause."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from dwellwright.diagnosis.likelihood import Problem
from dwellwright.diagnosis.posterior import Posterior

WORTH_NAMING = 0.15
"""Evidence weaker than this is not named. [bit]"""


@dataclass(frozen=True)
class Support:
    """How much one piece of evidence favors a cause over a healthy car.

    Args:
        evidence: what it is, in words.
        bits: log2 of the ratio of likelihoods; negative speaks against.
        source: where it was read, if it is a single reading.
    """

    evidence: str
    bits: float
    source: str = ""


def support(k: int, problem: Problem, posterior: Posterior) -> tuple[Support, ...]:
    """Evidence for cause k alone against a healthy car, the strongest first."""
    healthy = posterior.sets[0].scores
    alone = next(one for one in posterior.sets if one.members == (k,))
    found = [
        Support(name, float(alone.weights @ part - healthy.parts[name][0]) / log(2.0))
        for name, part in alone.scores.parts.items()
        if name != "gauges" and name in healthy.parts
    ]
    states = posterior.causes.states((k,), alone.magnitudes)
    base = posterior.causes.states((), np.zeros((1, 0)))
    for reading in problem.direct:
        sigma = np.hypot(reading.uncertainty, _scatter_of(reading.measured.value, problem))
        z = (reading.deviation - reading.predicted(states, problem.passages, 0.0)) / sigma
        z0 = (reading.deviation - reading.predicted(base, problem.passages, 0.0)) / sigma
        bits = float(alone.weights @ (-0.5 * z**2) + 0.5 * z0[0] ** 2) / log(2.0)
        found.append(Support(reading.measured.value.replace("_", " "), bits, reading.source))
    return tuple(
        sorted((one for one in found if abs(one.bits) > WORTH_NAMING), key=lambda one: -abs(one.bits))
    )


def _scatter_of(measured: str, problem: Problem) -> float:
    """Healthy scatter behind a direct reading. [SI or turns]"""
    aliases = {
        "float_level": "fuel_level", "float_level_running": "fuel_level", "idle_needle": "needle_both",
        "throttle_sensor_closed": "throttle_sensor", "throttle_voltage": "throttle_sensor",
        "sensor_forced_rich": "sensor_bias", "sensor_forced_lean": "sensor_bias", "barometer": "ambient_pressure",
        "coolant_temperature": "coolant_sensor", "sensor_mean": "sensor_bias", "rod_travel": "lean_stop",
    }  # fmt: skip
    name = aliases.get(measured, measured)
    return (
        float(problem.scatter.spreads[problem.scatter.names.index(name)])
        if name in problem.scatter.names
        else 0.0
    )
