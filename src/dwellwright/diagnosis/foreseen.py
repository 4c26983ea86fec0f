"""What a test would read on each car that is believed possible."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from dwellwright.carburetor.state import Field
from dwellwright.carburetor.steady import COLUMN
from dwellwright.catalogue.shop_tests import ShopTest
from dwellwright.diagnosis.exhaust_model import gas_at
from dwellwright.diagnosis.likelihood import Problem
from dwellwright.diagnosis.loop_model import FORCED_LIMITS, FORCED_SPREAD, held_lambda
from dwellwright.diagnosis.readings import HELD_LIMITS, Float
from dwellwright.diagnosis.settings_model import running_level, travel_change

Foresight = Callable[[Problem, Float, Float], Float]


def _duty(regime: int) -> Foresight:
    return lambda problem, states, steady: np.clip(steady[:, regime, COLUMN.duty], *HELD_LIMITS)


def _lambda(end: int) -> Foresight:
    """Lambda of the burned mixture at idle with the solenoid held at one end."""

    def result(problem: Problem, states: Float, steady: Float) -> Float:
        wanted = steady[:, 0, COLUMN.demand] * steady[:, 0, COLUMN.target_lambda]
        mixture: Float = np.clip(wanted / np.maximum(steady[:, 0, end], 1e-9), *FORCED_LIMITS)
        return mixture

    return result


def _gas(gas: int) -> Foresight:
    """A gas at idle in closed loop, false air included."""

    def result(problem: Problem, states: Float, steady: Float) -> Float:
        held = held_lambda(problem.evidence, steady, problem.passages)[:, 0]
        exhaust = steady[:, 0, COLUMN.air] * (1.0 + 1.0 / steady[:, 0, COLUMN.stoichiometric_ratio])
        leak = states[:, Field.EXHAUST_LEAK] * problem.passages.idle_exhaust_flow / exhaust
        seen: Float = gas_at(held, leak + states[:, Field.INJECTED_AIR] + states[:, Field.MISFIRE])[:, gas]
        return seen

    return result


FORESEEN: dict[str, Foresight] = {
    "level": lambda problem, states, steady: running_level(states, problem.passages, 0.0),
    "travel": lambda problem, states, steady: travel_change(states, problem.passages, 0.0),
    "duty_idle": _duty(0),
    "duty_3000": _duty(1),
    "duty_cruise": _duty(2),
    "lambda_released": _lambda(COLUMN.fuel_rich),
    "lambda_energized": _lambda(COLUMN.fuel_lean),
    "oxygen_idle": _gas(2),
    "carbon_monoxide_idle": _gas(0),
}
"""Results that are not a field of the car's state by itself."""

SPREAD_OF = {"level": "fuel_level", "needle_left": "needle_both", "travel": "lean_stop"}
"""Healthy scatter that a result shares, where its name differs."""


def results(test: ShopTest, problem: Problem, states: Float, steady: Float) -> Float:
    """What the test would read on each car. [SI or turns]"""
    if test.reads in FORESEEN:
        return FORESEEN[test.reads](problem, states, steady)
    seen: Float = states[:, Field[test.reads.upper()]]
    return seen


def doubt(test: ShopTest, problem: Problem) -> float:
    """Standard deviation of the result on cars of one state: the test's own and healthy scatter. [SI or turns]"""
    if test.reads.startswith("duty_"):
        regime = ("duty_idle", "duty_3000", "duty_cruise").index(test.reads)
        row = problem.jacobian[regime]
        return float(
            np.sqrt(test.doubt**2 + problem.scatter.discrepancy.floor**2 + row @ problem.remaining @ row)
        )
    if test.reads.startswith("lambda_"):
        return float(np.hypot(test.doubt, FORCED_SPREAD))
    name = SPREAD_OF.get(test.reads, test.reads)
    names = problem.scatter.names
    spread = float(problem.scatter.spreads[names.index(name)]) if name in names else 0.0
    return float(np.hypot(test.doubt, spread))
