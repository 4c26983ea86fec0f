"""The network's solution for one barrel: Newton's steps, a bracket where they fail, a refusal where that fails too."""

from __future__ import annotations

from math import isfinite, nan, sqrt

from dwellwright.carburetor.jet import LEAST_FLOW
from dwellwright.carburetor.network import Held, drop_over_jet, idle_fuel, main_fuel, newton_step, tube_drop
from dwellwright.compiled import register_jitable

NEWTON_STEPS = 14
"""Steps after which the bracket takes over; an ordinary barrel needs four to six."""
CLOSE_ENOUGH = 1e-6
"""Relative change of both flows at which the solution counts as found; Newton squares it, so 1e-11 is left. [-]"""
BRACKET_STEPS = 90
"""Most steps of a bracketing search; halving alone would leave 2**-90 of the flow."""
NARROW = 1e-13
"""Width of a bracket, or what its balance lacks, over the flow, at which it counts as closed. [-]"""
LARGEST_RESIDUAL = 1e-6
"""Largest `residual` of a solution that is handed out. [-]"""


@register_jitable
def start_of(held: Held) -> tuple[float, float]:
    """Where to start without a nearby solution: fuel through the jet and the idle tube. [kg/s]"""
    total = held.jet_area * 0.7 * sqrt(2.0 * held.fuel_density * max(held.venturi_depression, 60.0))
    return total, 0.5 * total


@register_jitable
def newton_solution(held: Held, total: float, idle: float) -> tuple[float, float, bool]:
    """Fuel through the jet and through the idle tube [kg/s], and whether the steps closed in.

    Args:
        held: the barrel.
        total: where to start, fuel through the jet; 0 for a guess. [kg/s]
        idle: where to start, fuel through the idle tube. [kg/s]
    """
    if not total > 0.0:
        total, idle = start_of(held)
    for _ in range(NEWTON_STEPS):
        new_total, new_idle, lack = newton_step(held, total, idle)
        change = abs(new_total - total) + abs(new_idle - idle)
        total, idle = new_total, new_idle
        if change < CLOSE_ENOUGH * total and isfinite(lack):
            return total, idle, True
    return total, idle, False


@register_jitable
def narrowed(low: float, high: float, low_value: float, high_value: float, halve: bool) -> float:
    """Next place to try within a bracket of a rising function: the secant's, or the middle. [kg/s]"""
    middle = 0.5 * (low + high)
    if halve or not high_value > low_value:
        return middle
    place = low - low_value * (high - low) / (high_value - low_value)
    return place if low < place < high else middle


@register_jitable
def idle_share_of(held: Held, drop: float) -> float:
    """Fuel through the idle tube when the jet's drop is known, by a bracket: its balance rises with it. [kg/s]"""
    low, high = 0.0, idle_fuel(held, drop + held.idle_head)[0]
    if not high > 0.0:
        return 0.0
    low_value, high_value, idle = -high, high, high
    for step in range(BRACKET_STEPS):
        idle = narrowed(low, high, low_value, high_value, step % 3 == 2)
        value = idle - idle_fuel(held, drop + held.idle_head + tube_drop(held, idle)[0])[0]
        if value > 0.0:
            high, high_value, low_value = idle, value, 0.5 * low_value
        else:
            low, low_value, high_value = idle, value, 0.5 * high_value
        if abs(value) < NARROW * high or high - low < NARROW * high:
            break
    return idle


@register_jitable
def bracketed_solution(held: Held) -> tuple[float, float]:
    """The same two flows by a bracket within a bracket: both balances are monotone, so this cannot miss. [kg/s]

    Secants with halved ends, and every third step a halving, so that a kink costs steps but never the answer.
    """
    low, high = 0.0, main_fuel(held, 0.0)[0] + idle_fuel(held, held.idle_head)[0] + LEAST_FLOW
    low_value, high_value, total, idle = -high, high, high, 0.0
    for step in range(BRACKET_STEPS):
        total = narrowed(low, high, low_value, high_value, step % 3 == 2)
        drop = drop_over_jet(held, total)[0]
        idle = idle_share_of(held, drop)
        value = total - main_fuel(held, drop)[0] - idle
        if value > 0.0:
            high, high_value, low_value = total, value, 0.5 * low_value
        else:
            low, low_value, high_value = total, value, 0.5 * high_value
        if abs(value) < NARROW * high or high - low < NARROW * high:
            break
    return total, idle


@register_jitable
def residual(held: Held, total: float, idle: float) -> float:
    """What the two balances lack, or how far one more step would move, whichever is less, over the flow. [-]

    Where jet and rod nearly close, flows barely move while pressures do, so that the lack alone would never be small.
    """
    next_total, next_idle, lack = newton_step(held, total, idle)
    moved = abs(next_total - total) + abs(next_idle - idle) + 0.0 * lack
    return min(lack, moved) / max(total, LEAST_FLOW)


@register_jitable
def bracketed_or_none(held: Held) -> tuple[float, float]:
    """The bracketed solution, or not-a-number where its balances do not close. [kg/s]"""
    total, idle = bracketed_solution(held)
    if residual(held, total, idle) <= LARGEST_RESIDUAL or total <= LEAST_FLOW:
        return total, idle
    return nan, nan


@register_jitable
def solution(held: Held, total: float, idle: float) -> tuple[float, float]:
    """Fuel through the jet and the idle tube from a start (0 for none), or not-a-number if no balance closes. [kg/s]"""
    total, idle, found = newton_solution(held, total, idle)
    if found:
        return total, idle
    return bracketed_or_none(held)


class NotConvergedError(ArithmeticError):
    """The network has no solution at a state: said with the state, never answered with a number."""


def solved(held: Held, total: float = 0.0, idle: float = 0.0) -> tuple[float, float]:
    """Fuel through the jet and through the idle tube, from a start if there is one. [kg/s]

    Raises:
        NotConvergedError: neither Newton's steps nor the bracket close the balances; the message holds the barrel.
    """
    found = solution(held, total, idle)
    if not isfinite(found[0] + found[1]):
        raise NotConvergedError(f"the fuel network does not converge for {held}")
    return found
