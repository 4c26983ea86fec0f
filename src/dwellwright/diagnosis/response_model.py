"""What a test with a response should change in a given state: a lead grounded, a solenoid unplugged, a hose pinched."""

from __future__ import annotations

import numpy as np

from dwellwright.carburetor.state import Field
from dwellwright.carburetor.steady import COLUMN
from dwellwright.diagnosis.readings import Evidence, Float
from dwellwright.evidence.observation import Measured

BEST_LAMBDA, TORQUE_CURVATURE = 0.90, 2.2
"""Lambda of most torque, and the share of it lost per square of lambda beside it: common practice (no source), the
usual hook of part-throttle torque over mixture. [-]"""
SPEED_SHARE = 0.5
"""Relative change of unloaded speed per relative change of torque at a fixed throttle, assumed. [-]"""
FAST_SPEED = 50.0
"""Speed at which these tests are made, 3000 rpm. [1/s]"""
SPEED_SPREAD, SPEED_FLOOR = 0.55, 30.0 / 60.0
"""Spread of the log of a large change of speed [-], and the change below which it is absolute [1/s], assumed."""
DWELL_DOUBT, DWELL_FLOOR = 0.35, 0.015
"""Doubt of a change of duty when a hose is pinched, in proportion and absolute, assumed. [-]"""
FARTHEST = 12.0
"""An answer never costs a cause more than this much log-likelihood: the test may have been made wrongly. [-]"""
SIDES = (0.6, 1.6)
"""Lambda on which an engine still runs, assumed. [-]"""


def response_parts(
    evidence: Evidence, states: Float, steady: Float, held: Float, purge: tuple[Float, Float]
) -> dict[str, Float]:
    """Log-likelihood of the answers to tests with a response, by part; empty where none was made.

    Args:
        evidence: merged.
        states: packed, shape (states, fields).
        steady: of them, shape (states, 3, columns).
        held: lambda burned in each regime, shape (states, 3).
        purge: openings [m²] and the change of idle duty that each makes by itself, both of shape (knots,).
    """
    parts = {}
    for measured, end in (
        (Measured.RESPONSE_DRIVER_LEAD_GROUNDED, COLUMN.fuel_lean),
        (Measured.RESPONSE_SOLENOID_UNPLUGGED, COLUMN.fuel_rich),
    ):
        if (seen := evidence.get(measured)) is not None:
            expected = speed_change(held[:, 1], end_lambda(steady[:, 1], end))
            # the inverse hyperbolic sine is a log for large changes of either sign, and straight for small ones
            told, foretold = np.arcsinh(seen.value / SPEED_FLOOR), np.arcsinh(expected / SPEED_FLOOR)
            sigma = np.hypot(SPEED_SPREAD, seen.uncertainty / SPEED_FLOOR / np.cosh(told))
            name = measured.value.removeprefix("response_").replace("_", " ")
            parts[name] = _part(float(told), foretold, np.full(len(states), sigma))
    if (seen := evidence.get(Measured.RESPONSE_PURGE_HOSE_PINCHED)) is not None:
        expected = -np.interp(states[:, Field.PURGE], *purge)
        sigma = np.hypot(np.hypot(seen.uncertainty, DWELL_FLOOR), DWELL_DOUBT * expected)
        parts["purge hose pinched"] = _part(seen.value, expected, sigma)
    return parts


def end_lambda(steady: Float, end: int) -> Float:
    """Lambda with the solenoid held at one end, from the steady solution of one regime, shape (states,)."""
    wanted = steady[:, COLUMN.demand] * steady[:, COLUMN.target_lambda]
    mixture: Float = np.clip(wanted / np.maximum(steady[:, end], 1e-9), *SIDES)
    return mixture


def speed_change(before: Float, after: Float) -> Float:
    """Change of an unloaded engine's speed at a fixed throttle when lambda goes from one value to another. [1/s]"""
    lost = TORQUE_CURVATURE * ((after - BEST_LAMBDA) ** 2 - (before - BEST_LAMBDA) ** 2)
    change: Float = -FAST_SPEED * SPEED_SHARE * lost
    return change


def _part(seen: float, expected: Float, sigma: Float) -> Float:
    part: Float = np.maximum(-0.5 * ((seen - expected) / sigma) ** 2, -FARTHEST) - np.log(sigma)
    return part
