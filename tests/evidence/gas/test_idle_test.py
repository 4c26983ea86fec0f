"""Idle limits: 220 ppm HC and 1.2 % CO, 5 s running mean, void under 6 % (40 CFR 85.2203 and 85.2213)."""

import pytest

from dwellwright.catalogue.idle_limits import idle_limit
from dwellwright.errors import InputFault
from dwellwright.evidence.gas import GasReading, gas_options
from dwellwright.evidence.gas.idle_test import DISCLAIMER, IdleVerdict, idle_test, running_means
from dwellwright.evidence.observation import Regime

LIMIT = idle_limit()


def gas(hc: float, co: float, co2: float = 14.0, time: float | None = None) -> GasReading:
    return GasReading("idle", Regime.IDLE, co / 100, co2 / 100, 0.005, hc * 1e-6, time=time)


def test_limits_are_those_of_the_regulation() -> None:
    assert LIMIT.hc == pytest.approx(220e-6)
    assert LIMIT.co == pytest.approx(0.012)
    assert (LIMIT.running_mean, LIMIT.smallest_carbon_oxides) == (5.0, pytest.approx(0.06))


@pytest.mark.parametrize(
    ("hc", "co", "verdict"),
    [
        (220, 1.2, IdleVerdict.WITHIN),
        (221, 1.2, IdleVerdict.ABOVE),
        (220, 1.21, IdleVerdict.ABOVE),
        (50, 0.1, IdleVerdict.WITHIN),
    ],
)
def test_at_or_below_passes(hc: float, co: float, verdict: IdleVerdict) -> None:
    assert idle_test([gas(hc, co)], LIMIT, gas_options()).verdict is verdict


def test_diluted_sample_is_void() -> None:
    found = idle_test([gas(50, 0.2, 5.7)], LIMIT, gas_options())
    assert found.verdict is IdleVerdict.VOID
    assert found.within == 0.0


def test_running_mean_by_hand() -> None:
    # HC 400 at 0-4 s, 100 from 5 s: mean over six readings (0..5) at 5 s is 350; over 4..9 it is 150.
    series = [gas(400 if t < 5 else 100, 0.5, time=float(t)) for t in range(12)]
    means = running_means(series, 5.0)
    assert means[0].time == 5.0
    assert means[0].hc == pytest.approx(350e-6)
    found = idle_test(series, LIMIT, gas_options())
    # 3..8 mean: (400*2 + 100*4)/6 = 200: the first within
    assert found.time == 8.0
    assert found.hc == pytest.approx(200e-6)
    assert found.averaged


def test_gap_breaks_the_mean_and_order_does_not_matter() -> None:
    series = [gas(100, 0.5, time=float(t)) for t in (*range(5), *range(20, 30))]
    assert running_means(series[::-1], 5.0)[0].time == 25.0


def test_near_the_limit_is_an_even_chance() -> None:
    assert idle_test([gas(220, 0.1)], LIMIT, gas_options()).within == pytest.approx(0.5, abs=0.01)
    assert idle_test([gas(20, 0.1)], LIMIT, gas_options()).within > 0.999


def test_words_disclaim() -> None:
    assert DISCLAIMER in idle_test([gas(300, 1.0)], LIMIT, gas_options()).words
    assert "85.2203" in idle_test([gas(300, 1.0)], LIMIT, gas_options()).words


def test_refusals() -> None:
    with pytest.raises(ValueError, match="at least one"):
        idle_test([], LIMIT, gas_options())
    with pytest.raises(InputFault, match="unknown idle limit"):
        idle_limit("moon")
