"""Predictions and turns without a job; the model itself is tested in tests/carburetor."""

from __future__ import annotations

from dataclasses import fields

import pytest

from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.errors import InputFault
from dwellwright.procedure.judgement import Verdict
from dwellwright.service.plan_lines import correction_words
from dwellwright.service.prediction import (
    FIELD_DIMENSIONS,
    changed_state,
    prediction_facts,
    prediction_of,
    state_fields,
)
from dwellwright.service.turns import turns_for

SHEET = archetype("two-barrel-v6")


def test_everything_that_can_be_off_is_part_of_the_state() -> None:
    assert set(FIELD_DIMENSIONS) <= {field.name for field in fields(CarState)}
    assert {"idle_needle", "altitude"} <= set(state_fields())


def test_changes_are_read_with_their_units() -> None:
    state = changed_state(
        ["lean_stop=+12thou", "idle_needle=-0.5", "vacuum_leak = 3 mm2", "air_temperature=30degC"]
    )
    assert state.lean_stop == pytest.approx(12 * 0.0254e-3)
    assert (state.needle_left, state.needle_right) == (-0.5, -0.5)
    assert state.vacuum_leak == pytest.approx(3e-6)
    assert state.air_temperature == pytest.approx(303.15)
    # US Standard Atmosphere 1976 at 1000 m geopotential: 89 874.57 Pa
    assert changed_state(["altitude=1000m"]).ambient_pressure == pytest.approx(89874.57, rel=1e-5)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("lean_stop", "not understood"),
        ("lean_stop=12", "needs a unit"),
        ("lean_stop=12V", "a unit of length"),
        ("lean_stop=1.2.3mm", "not a number"),
        ("sparkle=1", "nothing of that name"),
        ("altitude=3V", "a unit of length"),
    ],
)
def test_a_change_that_cannot_be_is_refused(change: str, message: str) -> None:
    with pytest.raises(InputFault, match=message):
        changed_state([change])


def test_a_high_lean_stop_raises_dwell_where_the_rods_work() -> None:
    """Direction by common practice: higher rods are richer, so the loop takes fuel away."""
    plain, rich = (
        prediction_facts(prediction_of(SHEET)),
        prediction_facts(prediction_of(SHEET, ["lean_stop=+12thou"])),
    )
    for point in ("3000", "cruise"):
        assert rich["points"][point]["dwell_deg"] > plain["points"][point]["dwell_deg"] + 2
    screws = {one["setting"]: one["dwell_change_deg"] for one in plain["screws"]}
    assert screws["idle_needle"]["idle"] > 0 > screws["idle_bleed"]["idle"]


def test_the_turn_of_one_screw_without_a_job() -> None:
    answer = turns_for(SHEET, "lean_stop", [82, 83, 82], "thou")
    assert answer.judgement.verdict is Verdict.OUT
    assert answer.correction is not None
    # 12.33 thou over 31.25 thou a turn (32 per inch, ASME B1.1), clockwise lowers on this sheet
    assert answer.correction.exact_turns == pytest.approx(12.333 / 31.25, abs=0.005)
    words = correction_words(answer.correction, answer.reading.measured)
    assert words == "turn 3/8 turn clockwise, leaner; expect 70.6 thou"


def test_a_setting_that_is_not_on_the_sheet_is_refused() -> None:
    with pytest.raises(InputFault, match="no such setting to turn; wanted lean_stop"):
        turns_for(SHEET, "nothing", [1.0], "mm")
