"""Typed readings: units converted, doubts from the instrument, mistakes refused."""

from __future__ import annotations

import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.jobs import job_view
from dwellwright.service.presentation import LOOKS, REGIME_LABELS, reading_facts, shown, shown_value
from dwellwright.service.readings import (
    PLAIN_ITEMS,
    add_reading,
    known_items,
    reading_history,
    take_back_reading,
    typed_observation,
)

WHO = "tester"


def test_a_gauge_reading_is_kept_in_metres(shop: Shop, job: int) -> None:
    record = add_reading(shop, job, "rod_lean_gauge", [82, 83, 82], "thou", Side.AS_FOUND, WHO, wanted=70)
    seen = record.observation
    assert seen.measured is Measured.LEAN_STOP
    assert seen.value == pytest.approx(82.3333 * 0.0254e-3, rel=1e-5)  # inch: 0.0254 m exactly
    assert seen.wanted == pytest.approx(70 * 0.0254e-3)
    assert 0 < seen.uncertainty < 5 * 0.0254e-3
    assert seen.source == "typed in by tester"


def test_dwell_is_kept_as_duty_at_its_place() -> None:
    seen = typed_observation("dwell", [18, 20], "deg", Regime.CRUISE)
    assert (seen.measured, seen.regime) == (Measured.DUTY, Regime.CRUISE)
    assert seen.value == pytest.approx(19 / 60)  # 60 deg is the whole six-cylinder scale
    # half a degree of the meter and the mean of two that differ by 2 deg (1 deg standard), closed form
    assert seen.uncertainty == pytest.approx((0.5**2 + 1.0**2) ** 0.5 / 60)


def test_undo_brings_back_what_was_superseded(shop: Shop, job: int) -> None:
    for value in (18, 40):
        add_reading(shop, job, "dwell", [value], "deg", Side.AS_FOUND, WHO)
    assert shown(job_view(shop, job).readings[0].observation).text == "40.0 deg"
    assert take_back_reading(shop, job, WHO).observation.value == pytest.approx(40 / 60)
    assert [shown(one.observation).text for one in job_view(shop, job).readings] == ["18.0 deg"]
    assert len(reading_history(shop, job)) == 2


@pytest.mark.parametrize(
    ("item", "values", "unit", "message"),
    [
        ("dwell", [], "deg", "no value"),
        ("dwell", [75.0], "deg", "not believable .*got 75 deg"),
        ("dwell", [float("nan")], "deg", "not a finite number"),
        ("dwell", [20.0], "mm", "does not measure this"),
        ("dwell", [20.0], "degrees", "unknown unit"),
        ("rod_lean_gauge", [80.0], "V", "does not measure this"),
        ("rod_lean_gauge", [80.0], "m", "not believable"),
        ("rod_laen_gauge", [80.0], "thou", "no such reading; wanted rod_lean_gauge"),
        ("engine", [1.0], "1", "no such reading"),
    ],
)
def test_mistakes_are_refused_and_change_nothing(
    shop: Shop, job: int, item: str, values: list[float], unit: str, message: str
) -> None:
    with pytest.raises(InputFault, match=message):
        add_reading(shop, job, item, values, unit, Side.AS_FOUND, WHO)
    assert job_view(shop, job).readings == []


def test_every_known_item_can_be_typed_in() -> None:
    assert {"dwell", "rod_lean_gauge", "fuel_pressure"} <= set(known_items())
    for name, item in PLAIN_ITEMS.items():
        middle = (item.lowest + item.highest) / 2
        assert typed_observation(name, [middle], item.unit, Regime.IDLE).measured is item.measured


def test_every_kind_of_reading_can_be_shown() -> None:
    assert set(LOOKS) == set(Measured)
    assert set(REGIME_LABELS) == set(Regime)
    for measured in Measured:
        seen = Observation(measured, Regime.IDLE, 0.5, 0.1, "made up", 0.4)
        view = shown(seen)
        assert view.low <= view.value <= view.high
        assert view.text.startswith(f"{view.value:.{view.decimals}f}")


def test_a_share_cannot_leave_zero_to_one() -> None:
    view = shown(Observation(Measured.CLOSED_LOOP_SHARE, Regime.IDLE, 1.0, 0.06, "made up"))
    assert view.interval_text == "88 to 100 %"


def test_facts_carry_their_unit_and_one_dimensionless_one() -> None:
    facts = reading_facts(Observation(Measured.GAS_LAMBDA, Regime.IDLE, 1.01, 0.005, "gas.csv"))
    assert (facts["value"], facts["low"], facts["high"], facts["unit"], facts["wanted"]) == (
        1.01,
        1.0,
        1.02,
        "1",
        None,
    )


def test_temperature_is_shown_in_degrees_of_the_shop() -> None:
    assert shown_value(Measured.COOLANT_TEMPERATURE, 363.15) == pytest.approx(
        90.0
    )  # Celsius: K - 273.15 exactly
