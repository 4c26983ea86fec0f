"""Closed forms of the limit cycle of a relay, an integrator and a delay: what the simulator must agree with.

The controller ramps the duty at a constant rate until the sensor is seen to switch, then ramps back. The mixture
crosses stoichiometry first and is seen to have crossed one dead time later, so the duty swings past its mean by the
rate times the dead time, both ways, for ever. Duties here are measured from the stoichiometric duty; the mixture is
taken as linear in duty, which holds for pulsed rods and bleeds.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from scipy.optimize import brentq


@dataclass(frozen=True)
class LimitCycle:
    """What a steady limit cycle looks like.

    Args:
        period: from one lean-to-rich switch to the next. [s]
        amplitude: half the swing of the duty, jump included. [-]
        mean_shift: time mean of the duty minus the stoichiometric duty; positive is lean. [-]
    """

    period: float
    amplitude: float
    mean_shift: float = 0.0


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"{name} must be positive, got {value}")


def _not_negative(**values: float) -> None:
    for name, value in values.items():
        if not value >= 0:
            raise ValueError(f"{name} must not be negative, got {value}")


def integral_cycle(ramp: float, delay: float) -> LimitCycle:
    """Limit cycle of a pure integrator behind a dead time.

    The crossing is seen `delay` late, the ramp is undone in another `delay`, and the same on the other side.

    Args:
        ramp: rate of change of the duty. [1/s]
        delay: from a change of duty to its being seen by the controller. [s]

    Raises:
        ValueError: a rate or a delay that is not positive.

    References:
        Closed form, derived above; describing a relay with integrator and delay exactly, not by first harmonic.

    >>> integral_cycle(0.1, 0.5)
    LimitCycle(period=2.0, amplitude=0.05, mean_shift=0.0)
    """
    _positive(ramp=ramp, delay=delay)
    return LimitCycle(4 * delay, ramp * delay)


def _lag_residual(period: float, delay: float, lag: float) -> float:
    half = period / 2
    transient = 2 * lag * exp(-(half - delay) / lag) / (1 + exp(-half / lag))
    return 4 * (delay + lag - transient) - period


def lagged_cycle(ramp: float, delay: float, lag: float) -> LimitCycle:
    """Limit cycle of a pure integrator behind a dead time and a first-order lag.

    A triangle of half-period H and slope K through the lag gives, from its lower corner on,
    `-KH/2 + K(t - lag) + 2 K lag exp(-t/lag) / (1 + exp(-H/lag))`. It crosses zero `delay` before the next corner;
    that condition is the implicit equation solved here. The rule of thumb 4 (delay + lag) is its upper bound.

    Args:
        ramp: rate of change of the duty. [1/s]
        delay: dead time. [s]
        lag: time constant of the first-order lag, anywhere in the loop. [s]

    Raises:
        ValueError: ramp or delay not positive, or a negative lag.

    References:
        Closed form, derived above.

    >>> round(lagged_cycle(0.1, 0.3, 0.3).period, 3)
    2.25
    """
    _positive(ramp=ramp, delay=delay)
    _not_negative(lag=lag)
    if lag == 0:
        return integral_cycle(ramp, delay)
    period = float(brentq(_lag_residual, 2 * delay, 4 * (delay + lag) + lag, args=(delay, lag), xtol=1e-13))
    return LimitCycle(period, ramp * period / 4)


def jump_cycle(ramp: float, delay: float, jump: float) -> LimitCycle:
    """Limit cycle of an integrator with a proportional jump of `2 jump` at each switch, behind a dead time.

    The jump undoes part of the overshoot at once, so the way back is shorter by `2 jump / ramp`. A jump larger than
    the overshoot itself crosses at once, and the loop can be no faster than twice the dead time. From there on the
    ramp's corner and the jump's edge pull opposite ways and the jump makes the amplitude.

    Args:
        ramp: rate of change of the integral part. [1/s]
        delay: dead time. [s]
        jump: half of the step that the duty makes when the sensor switches. [-]

    Raises:
        ValueError: ramp or delay not positive, or a negative jump.

    References:
        Closed form, derived above.

    >>> round(jump_cycle(0.1, 0.5, 0.02).period, 6)
    1.2
    """
    _positive(ramp=ramp, delay=delay)
    _not_negative(jump=jump)
    period = max(2 * delay, 4 * delay - 4 * jump / ramp)
    return LimitCycle(period, ramp * period / 4 + jump)


def uneven_cycle(lean_ramp: float, rich_ramp: float, rich_delay: float, lean_delay: float) -> LimitCycle:
    """Limit cycle of an integrator whose two directions differ in rate or in dead time.

    A sensor slow from rich to lean lets the duty climb too far before lean is seen, and the mean goes lean: by
    `ramp (lean_delay - rich_delay) / 2` where the rates are equal. Unequal rates shift it likewise.

    Args:
        lean_ramp: rate while the sensor shows rich and the duty climbs. [1/s]
        rich_ramp: rate while the sensor shows lean and the duty falls, as a positive number. [1/s]
        rich_delay: from going rich to being seen rich. [s]
        lean_delay: from going lean to being seen lean. [s]

    Raises:
        ValueError: a rate or a delay that is not positive.

    References:
        Closed form: areas of the two triangles above and below the stoichiometric duty over the period.

    >>> round(uneven_cycle(0.1, 0.1, 0.4, 0.6).mean_shift, 6)
    0.01
    """
    _positive(lean_ramp=lean_ramp, rich_ramp=rich_ramp, rich_delay=rich_delay, lean_delay=lean_delay)
    depth, height = rich_ramp * rich_delay, lean_ramp * lean_delay
    below, above = rich_delay + depth / lean_ramp, lean_delay + height / rich_ramp
    period = below + above
    mean = (height * above - depth * below) / (2 * period)
    return LimitCycle(period, (depth + height) / 2, mean)
