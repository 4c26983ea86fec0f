"""Predictions and turns without a job; the model itself is tested in tests/carburetor."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.errors import InputFault
from dwellwright.procedure.judgement import Verdict
from dwellwright.reports.plots.look import Format
from dwellwright.service.plan_lines import correction_words
from dwellwright.service.prediction import (
    FIELD_DIMENSIONS,
    changed_state,
    prediction_facts,
    prediction_of,
    state_fields,
)
from dwellwright.service.prediction_plot import drawn_prediction, plot_format
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


def test_an_effect_has_an_interval_that_holds_it_and_exact_sizes_leave_none() -> None:
    wide = prediction_facts(prediction_of(SHEET, intervals=True))["screws"]
    for screw in wide:
        for name, (low, high) in screw["interval_deg"].items():
            assert low <= screw["dwell_change_deg"][name] <= high
    assert wide[2]["interval_deg"]["idle"][1] - wide[2]["interval_deg"]["idle"][0] > 0.2
    exact = {
        name: size.model_copy(update={"tolerance": 0.0})
        for name in type(SHEET.geometry).model_fields
        if (size := getattr(SHEET.geometry, name)) is not None
    }
    sharp = SHEET.model_copy(update={"geometry": SHEET.geometry.model_copy(update=exact)})
    for screw in prediction_facts(prediction_of(sharp, intervals=True))["screws"]:
        for low, high in screw["interval_deg"].values():
            assert high - low < 1e-3


def test_needles_apart_show_barrel_by_barrel_and_in_the_gas() -> None:
    alike, apart = (
        prediction_facts(prediction_of(SHEET, changes))["points"]["idle"]
        for changes in ([], ["needle_left=1", "needle_right=-1"])
    )
    left, right = apart["lambda_barrels"]
    assert left < 0.95 < 1.05 < right
    # equal air, so the fuels add: closed form
    assert 0.5 * (1 / left + 1 / right) == pytest.approx(1 / apart["lambda_held"], abs=2e-3)
    assert alike["lambda_barrels"] == pytest.approx([1.0, 1.0], abs=1e-3)
    # a rich and a lean barrel together give CO and O2 at once: common practice, no source
    assert apart["gas"]["co_pct"] > 2 * alike["gas"]["co_pct"]
    assert apart["gas"]["o2_pct"] > 1.5 * alike["gas"]["o2_pct"]


@pytest.mark.parametrize(
    ("change", "up", "down"),
    [
        # directions: common practice, no source
        ("misfire=5%", ("hc_ppm", "o2_pct", "co_pct"), ("co2_pct",)),
        ("exhaust_leak=10%", ("o2_pct", "co_pct"), ("co2_pct",)),
        ("injected_air=10%", ("o2_pct", "co_pct"), ("co2_pct",)),
        ("sensor_bias=-150mV", ("co_pct", "h2_pct"), ("o2_pct",)),
        ("sensor_bias=150mV", ("o2_pct",), ("co_pct", "h2_pct")),
        ("egr=12%", ("hc_ppm", "o2_pct"), ("co2_pct",)),
    ],
)
def test_the_gas_goes_the_way_the_trade_knows(
    change: str, up: tuple[str, ...], down: tuple[str, ...]
) -> None:
    base, moved = (
        prediction_facts(prediction_of(SHEET, changes))["points"]["idle"]["gas"] for changes in ([], [change])
    )
    for gas in up:
        assert moved[gas] > base[gas] * 1.05
    for gas in down:
        assert moved[gas] < base[gas] * 0.99


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("idle_channel_blocked=90%", "duty needed to hold the mixture"),
        ("rich_stop=700thou", "thinnest rod section"),
        ("lean_stop=-300thou", "thickest rod section"),
        ("idle_bleed=60turns", "its path runs backwards"),
        ("power_vacuum=20kPa", "where the piston came from"),
    ],
)
def test_every_doubt_is_told_with_the_result(change: str, words: str) -> None:
    points = prediction_facts(prediction_of(SHEET, [change]))["points"].values()
    assert any(words in finding for point in points for finding in point["findings"])


def test_a_prediction_is_drawn_with_its_loop_and_says_so_in_words() -> None:
    plot = drawn_prediction(SHEET, [], ["vacuum_leak=4mm2"], "idle", Format.SVG)
    assert plot.image.startswith(b"<?xml")
    means = [float(word) for word in re.findall(r"mean dwell ([0-9.]+)", plot.alt)]
    solved = [
        prediction_facts(prediction_of(SHEET, changes))["points"]["idle"]["dwell_deg"]
        for changes in ([], ["vacuum_leak=4mm2"])
    ]
    # two routes: the simulated loop's mean against the steady solution
    assert means == pytest.approx(solved, abs=1.0)
    assert drawn_prediction(SHEET, [], [], "3000", Format.PNG).image.startswith(b"\x89PNG")
    with pytest.raises(InputFault, match=r"the picture's format is not known.*wanted .png or .svg"):
        plot_format(Path("loop.bmp"))
