"""First-order lag, exact over a step in which the input stands still: sensors and temperatures."""

from __future__ import annotations

from math import exp


def lagged(value: float, target: float, step: float, time_constant: float) -> float:
    """Value after a step toward a constant target; at once for a time constant of zero. [unit of value]

    Args:
        value: at the start.
        target: held during the step.
        step: of time. [s]
        time_constant: [s]
    """
    if time_constant <= 0.0:
        return target
    return target + (value - target) * exp(-step / time_constant)


def lagged_both_ways(value: float, target: float, step: float, rise_time: float, fall_time: float) -> float:
    """The same with its own time constant upward and downward: a sensor from lean to rich, and back.

    Args:
        value: at the start.
        target: held during the step.
        step: of time. [s]
        rise_time: time constant while the target is above. [s]
        fall_time: time constant while it is below. [s]
    """
    time_constant = rise_time if target > value else fall_time
    if time_constant <= 0.0:
        return target
    return target + (value - target) * exp(-step / time_constant)


def lag_gain(frequency: float, time_constant: float) -> float:
    """Amplitude left of a sine wave. [-]

    Args:
        frequency: angular. [rad/s]
        time_constant: [s]
    """
    return float((1.0 + (frequency * time_constant) ** 2) ** -0.5)
