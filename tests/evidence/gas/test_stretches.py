"""Readings of one place as one: what averaging may and may not take away."""

from dataclasses import replace

import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.gas import GasReading, gas_options, observations
from dwellwright.evidence.gas.air_ratio import gas_uncertainty
from dwellwright.evidence.gas.stretches import gas_stretches, row_warnings, stretch_warnings
from dwellwright.evidence.observation import Measured, Regime

OPTIONS = gas_options()


def record(count: int, regime: Regime = Regime.IDLE, start: float = 0.0, **gases: float) -> list[GasReading]:
    plain = {"co": 0.009, "co2": 0.144, "o2": 0.007, "hc": 180e-6} | gases
    word = "idle" if regime is Regime.IDLE else "2500"
    return [
        GasReading(word, regime, **plain, time=start + i, source=f"gas.csv, row {i + 2}")
        for i in range(count)
    ]


def test_the_analyzers_error_does_not_shrink_by_reading_it_again() -> None:
    once, often = observations(record(1), OPTIONS), observations(record(400), OPTIONS)
    assert [one.measured for one in once] == [one.measured for one in often]
    for one, other in zip(once, often, strict=True):
        assert other.value == pytest.approx(one.value)
        assert other.uncertainty == pytest.approx(one.uncertainty)
    assert often[0].source == "gas.csv, rows 2 to 401, co"


def test_scatter_of_the_readings_adds_to_the_doubt() -> None:
    # JCGM 100, 4.2.3: standard uncertainty of a mean is s / sqrt(n); here s = 0.2 %, n = 4
    noisy = [
        replace(one, co=0.009 + step)
        for one, step in zip(record(4), (0.002, -0.002, 0.002, -0.002), strict=True)
    ]
    seen = next(one for one in observations(noisy, OPTIONS) if one.measured is Measured.CO)
    spread = (4 * 0.002**2 / 3 / 4) ** 0.5
    assert seen.uncertainty == pytest.approx(
        (gas_uncertainty(0.009, OPTIONS.meter.co) ** 2 + spread**2) ** 0.5
    )


def test_what_comes_before_the_gas_settled_is_left_out_and_said() -> None:
    air = record(6, co=0.0, co2=0.0, o2=0.209, hc=0.0)
    rising = record(1, start=6, co=0.004, co2=0.07, o2=0.1)
    (found,) = gas_stretches(
        [*air, *rising, *record(60, start=7), *record(3, start=67, co2=0.02, o2=0.18)], OPTIONS
    )
    assert (found.left_out, len(found.readings)) == (10, 60)
    assert found.span == (7.0, 66.0)
    assert "10 readings before the gas settled" in stretch_warnings([found])[0]


def test_places_stay_apart_and_a_moving_gas_is_said() -> None:
    parts = gas_stretches([*record(30), *record(30, Regime.FAST_NO_LOAD, 30.0, co=0.004)], OPTIONS)
    assert [one.mean.regime for one in parts] == [Regime.IDLE, Regime.FAST_NO_LOAD]
    assert not any(one.moved for one in parts)
    moving = [replace(one, assumed=True) for one in (*record(30), *record(30, start=30.0, co=0.002))]
    (found,) = gas_stretches(moving, OPTIONS)
    assert found.moved == "co"
    assert found.spread["co"] == pytest.approx(0.0035, rel=0.02)  # half of the step, not divided by sqrt(60)
    first, second = stretch_warnings([found])
    assert "all of it is taken as idle" in first
    assert "CO moved" in second


def test_speeds_that_vary_are_one_place() -> None:
    rows = [replace(one, condition=f"{800 + i}") for i, one in enumerate(record(11))]
    assert [one.mean.condition for one in gas_stretches(rows, OPTIONS)] == ["805 rpm"]


def test_many_faulty_rows_are_counted_not_listed() -> None:
    faults = [InputFault("the cell is blank", where=f"row {i}") for i in range(40)]
    assert row_warnings(faults)[-1] == "37 more rows could not be used."
    assert len(row_warnings(faults)) == 4
