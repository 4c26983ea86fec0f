"""The closed forms by another route: Tsypkin's condition summed over harmonics, and stepping by hand.

Tsypkin: a relay's square wave of frequency w through a plant G comes back as zero at the moment of switching when the
sum over odd k of Im G(ikw) / k is zero. Nothing of the time-domain derivation in the module is used.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from dwellwright.loop.limit_cycle import integral_cycle, jump_cycle, lagged_cycle, uneven_cycle

HARMONICS = np.arange(1, 200_001, 2)


def tsypkin_period(plant: Callable[[np.ndarray], np.ndarray], low: float, high: float) -> float:
    def condition(period: float) -> float:
        return float(np.sum(plant(2j * np.pi / period * HARMONICS).imag / HARMONICS))

    return float(brentq(condition, low, high, xtol=1e-10))


@pytest.mark.parametrize("delay", [0.2, 0.9])
def test_integrator_and_delay_against_harmonic_sum(delay: float) -> None:
    found = tsypkin_period(lambda s: 0.07 * np.exp(-s * delay) / s, 3 * delay, 6 * delay)
    assert integral_cycle(0.07, delay).period == pytest.approx(found, rel=1e-4)


@pytest.mark.parametrize(("delay", "lag"), [(0.3, 0.3), (0.6, 0.1), (0.2, 1.5)])
def test_lagged_against_harmonic_sum(delay: float, lag: float) -> None:
    found = tsypkin_period(
        lambda s: 0.07 * np.exp(-s * delay) / (s * (1 + s * lag)), 2 * delay, 4.5 * (delay + lag)
    )
    assert lagged_cycle(0.07, delay, lag).period == pytest.approx(found, rel=1e-5)


def test_lagged_published_number() -> None:
    """2.25 s exact against 2.40 by the rule of thumb: check values, closed form, to the digits given there."""
    assert lagged_cycle(0.1, 0.3, 0.3).period == pytest.approx(2.25, abs=0.005)
    assert lagged_cycle(0.1, 0.3, 0.3).period < 4 * (0.3 + 0.3)


def test_lag_of_nothing_is_the_pure_integral() -> None:
    assert lagged_cycle(0.1, 0.4, 0.0) == integral_cycle(0.1, 0.4)
    assert lagged_cycle(0.1, 0.4, 1e-4).period == pytest.approx(4 * 0.4001, rel=1e-6)


@pytest.mark.parametrize("jump", [0.0, 0.005, 0.012])
def test_jump_against_harmonic_sum(jump: float) -> None:
    found = tsypkin_period(lambda s: (0.05 / s + jump) * np.exp(-0.6 * s), 1.25, 2.6)
    assert jump_cycle(0.05, 0.6, jump).period == pytest.approx(found, rel=1e-4)


def test_jump_beyond_the_overshoot_is_bound_by_the_delay() -> None:
    cycle = jump_cycle(0.05, 0.6, 0.1)
    assert cycle.period == pytest.approx(1.2)
    assert cycle.amplitude == pytest.approx(0.1 + 0.05 * 0.6 / 2)


def stepped(lean_ramp: float, rich_ramp: float, rich_delay: float, lean_delay: float) -> tuple[float, float]:
    """Period and mean duty by stepping a list of past duties; plain Python, no shared code."""
    step, duty, seen_rich, history, switches, due = 2e-4, -0.01, True, [], [], {}
    for number in range(200_000):
        if history and (duty < 0) != (history[-1] < 0):
            due[number + round((rich_delay if duty < 0 else lean_delay) / step)] = duty < 0
        history.append(duty)
        if number in due:
            seen_rich = due.pop(number)
            if seen_rich:
                switches.append(number)
        duty += step * (lean_ramp if seen_rich else -rich_ramp)
    first, last = switches[2], switches[-1]
    return (last - first) * step / (len(switches) - 3), float(np.mean(history[first:last]))


@pytest.mark.parametrize("case", [(0.1, 0.1, 0.4, 0.7), (0.06, 0.1, 0.5, 0.5), (0.12, 0.05, 0.6, 0.35)])
def test_uneven_against_stepping(case: tuple[float, float, float, float]) -> None:
    period, mean = stepped(*case)
    cycle = uneven_cycle(*case)
    assert cycle.period == pytest.approx(period, rel=2e-3)
    assert cycle.mean_shift == pytest.approx(mean, abs=1e-4)


def test_even_is_a_case_of_uneven() -> None:
    assert uneven_cycle(0.1, 0.1, 0.4, 0.4).period == pytest.approx(integral_cycle(0.1, 0.4).period)
    assert uneven_cycle(0.1, 0.1, 0.4, 0.4).amplitude == pytest.approx(integral_cycle(0.1, 0.4).amplitude)


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: integral_cycle(0.0, 1.0), "ramp must be positive"),
        (lambda: integral_cycle(0.1, -1.0), "delay must be positive"),
        (lambda: lagged_cycle(0.1, 0.3, -0.1), "lag must not be negative"),
        (lambda: jump_cycle(0.1, 0.3, float("nan")), "jump must not be negative"),
        (lambda: uneven_cycle(0.1, 0.1, 0.3, 0.0), "lean_delay must be positive"),
    ],
)
def test_refusals(call: Callable[[], object], what: str) -> None:
    with pytest.raises(ValueError, match=what):
        call()
