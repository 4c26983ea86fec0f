"""One step of each law of the loop, written without branches so that a row of cars runs through them at once.

Every function is exact for the input it is told to expect (constant or straight over the step); nothing here is an
Euler step. They are compiled into the kernel; from Python they answer for single numbers, which is how they are tested.
"""

from __future__ import annotations

from math import exp, sqrt

from numba import njit

law = njit(fastmath=True, error_model="numpy")
"""Compile a law for inlining into the kernel."""


@law
def clipped(value: float, low: float, high: float) -> float:
    """`value`, held between two limits."""
    return min(max(value, low), high)


@law
def decay(step: float, time_constant: float) -> float:
    """What is left of a first-order deviation after a step; 0 with no time constant at all. [-]"""
    return exp(-step / max(time_constant, 1e-9))


@law
def hold(step: float, time_constant: float) -> float:
    """Weight of a straight input's slope in a first-order lag, `(1 - decay) time_constant / step`. [-]"""
    return (1.0 - decay(step, time_constant)) * max(time_constant, 1e-9) / step


@law
def effective_position(duty: float, pull_in: float, drop_out: float) -> float:
    """Share of the pulse period that the valve spends at the lean stop. [-]

    It arrives `pull_in` late and leaves `drop_out` late. A pulse too short to pull in does nothing; a gap too short
    to drop out is not seen. Part strokes are left out: within a few milliseconds of either end a real valve floats.

    Args:
        duty: energized share of the period. [-]
        pull_in: pull-in time over the period. [-]
        drop_out: drop-out time over the period. [-]
    """
    share = clipped(duty + drop_out - pull_in, 0.0, 1.0)
    share = 1.0 if 1.0 - duty <= drop_out else share
    return 0.0 if duty <= pull_in else share


@law
def film_step(film: float, fuel: float, store: float, fill: float, fill_rate: float) -> tuple[float, float]:
    """Fuel held after a step of steady inflow, and the mean flow that got past it. ([kg], [kg/s])

    The X-tau film: a share X of the fuel lands on the wall, the film evaporates with time constant tau. What leaves
    is what came minus what stayed, so fuel is conserved to the last digit. A well that all fuel passes is X = 1.

    Args:
        film: fuel on the wall. [kg]
        fuel: metered fuel flow. [kg/s]
        store: X tau, film per fuel flow at equilibrium. [s]
        fill: 1 - exp(-step / tau). [-]
        fill_rate: `fill` over the step. [1/s]

    References:
        Aquino, SAE 810494 (the X-tau form; from memory).
    """
    lack = store * fuel - film
    return film + fill * lack, fuel - fill_rate * lack


@law
def switching_voltage(
    over: float,
    rich_level: float,
    rich_rise: float,
    rich_offset: float,
    lean_level: float,
    lean_rise: float,
    lean_offset: float,
    width: float,
) -> float:
    """Sensor voltage from the excess fuel less one. [V]

    The curve of `physics.switching` with lambda written as 1 / (1 + over) and everything brought to one square root
    and one division, which is what the kernel's speed hangs on. The same function, not an approximation of it.

    Args:
        over: excess fuel less one, either sign. [-]
        rich_level: and the following: coefficients of `physics.switching.SwitchingCurve`. [V]
    """
    excess = 1.0 + over
    distance = sqrt(over * over + (width * excess) * (width * excess))
    rich, lean = distance + rich_offset * excess, distance + lean_offset * excess
    inverse = 1.0 / (distance * rich * lean)
    on_rich = rich_level + rich_rise * excess * distance * lean * inverse
    on_lean = lean_level + lean_rise * excess * distance * rich * inverse
    return 0.5 * (on_rich + on_lean + (on_rich - on_lean) * over * rich * lean * inverse)


@law
def lagged(output: float, before: float, after: float, left: float, slope_weight: float) -> float:
    """Output of a first-order lag after a step over which its input runs straight.

    Args:
        output: at the start of the step.
        before: input at the start.
        after: input at the end.
        left: `decay` of the step. [-]
        slope_weight: `hold` of the step. [-]
    """
    return after - slope_weight * (after - before) + left * (output - before)


@law
def share_above(before: float, after: float, threshold: float) -> float:
    """Share of a step that a straight signal spends above a threshold. [-]"""
    top, bottom = max(before, after), min(before, after)
    return clipped((top - threshold) / (top - bottom + 1e-12), 0.0, 1.0)
