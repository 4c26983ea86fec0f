"""Plots to move along: what their figures hold is what was measured, and every word of theirs is told to those who
cannot see them."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dwellwright.catalogue.instruments import instruments
from dwellwright.evidence.gauge.budget import Budget, Component, reading_budget
from dwellwright.evidence.gauge.shares import DoubtKind, doubt_kind, doubt_shares
from dwellwright.reports.plots.exhaust import GasRow
from dwellwright.reports.plots.gauges import SettingRow, StudyPoint
from dwellwright.reports.plots.look import Format
from dwellwright.reports.plots.moving import Moving
from dwellwright.reports.plots.moving_answers import moving_gas, moving_responses
from dwellwright.reports.plots.moving_gauges import (
    moving_calibration,
    moving_drift,
    moving_settings,
    moving_study,
    moving_ways,
)
from dwellwright.reports.plots.ways import DOUBT_INKS, WayRow, ways_plot

ANSWER = {
    "label": "propane enrichment at the air cleaner", "before": 30.0, "during": 41.0, "change": 11.0, "low": 9.0,
    "high": 13.0, "unit": "deg", "smallest": 3.0, "direction": "rises", "expected": "rises",
}  # fmt: skip
SHARES = {
    "repeats": 0.25,
    "step that can be read": 0.25,
    "the gauge's own error": 0.25,
    "the way of measuring": 0.25,
}
WAYS = [WayRow("dial indicator", 0.5, True, "± 1 thou, good enough", "about 1 in 46 wrong", SHARES),
        WayRow("by eye", 9.0, False, "± 30 thou, not good enough", "about 1 in 1.2 wrong", SHARES)]  # fmt: skip


def columns(plot: Moving) -> list[dict[str, list[Any]]]:
    """The columns of every source of points in a figure that can be pointed at."""
    found: list[dict[str, list[Any]]] = []

    def walk(part: Any) -> None:
        if isinstance(part, dict):
            if part.get("name") == "ColumnDataSource":
                held = dict(part["attributes"]["data"]["entries"])
                if "told" in held:
                    found.append(held)
            for one in part.values():
                walk(one)
        elif isinstance(part, list):
            for one in part:
                walk(one)

    walk(json.loads(plot.figure))
    return found


def test_responses_stand_at_their_change_over_the_smallest_that_counts() -> None:
    unsure = {**ANSWER, "direction": None}
    wrong = {**ANSWER, "direction": "falls", "change": -11.0, "low": -13.0, "high": -9.0}
    (plot,) = moving_responses([ANSWER, wrong, unsure])
    (rows,) = columns(plot)
    assert rows["x"] == pytest.approx([11 / 3, -11 / 3, 11 / 3])
    assert rows["low"] == pytest.approx([3.0, -13 / 3, 3.0])
    assert rows["mark"] == ["circle", "square", "diamond"]
    assert "30 → 41 deg" in rows["told"][0]
    assert "expected rises" in plot.alt


def test_gas_is_good_only_where_its_whole_interval_lies_in_the_band() -> None:
    rows = [GasRow("idle", 0.006, 0.006, 1.0, 0.99, 1.01), GasRow("2500", 0.02, 0.006, 0.96, 0.95, 0.968),
            GasRow("cruise", 0.02, 0.006, 0.975, 0.965, 0.985)]  # fmt: skip
    ratio, gases = moving_gas(rows, (0.97, 1.03))
    assert columns(ratio)[0]["mark"] == ["circle", "square", "diamond"]
    assert columns(gases)[0]["size"] == pytest.approx([0.6, 0.6, 2.0, 0.6, 2.0, 0.6])
    assert "0.960 (0.950 to 0.968)" in ratio.alt


def test_a_study_shows_every_reading_by_hand() -> None:
    points = [StudyPoint("1", "Ann", 81.0), StudyPoint("1", "Bo", 82.0), StudyPoint("2", "Ann", 90.0)]
    left, right = moving_study(points, {"same hand": 0.5, "part to part": 6.0}, 0.1, "thou")
    assert [sorted(one["y"]) for one in columns(left)] == [[81.0, 90.0], [82.0]]
    assert columns(right)[0]["size"] == [0.5, 6.0]
    assert (left.fixed, right.fixed) == (False, True)


def test_a_calibration_shows_errors_and_the_line() -> None:
    (plot,) = moving_calibration([40, 80, 120], [41, 81.5, 122], (0.5, 1.0125), 0.1, "thou")
    points, line = columns(plot)
    assert points["y"] == pytest.approx([1.0, 1.5, 2.0])
    assert line["y"] == pytest.approx([1.0, 2.0])


def test_a_drift_shows_the_check_that_alarms() -> None:
    top, low = moving_drift([0.1, 0.9, 1.2], ([0.0, 0.7, 1.7], [0.0, 0.0, 0.0]), 1.5, 3, "thou")
    assert "seen at check 3" in top.alt
    assert [one["y"] for one in columns(low)] == [[0.0, 0.7, 1.7], [0.0, 0.0, 0.0]]


def test_readings_and_ways_show_their_doubt_and_what_makes_it() -> None:
    rows = [SettingRow("lean stop", 0.4, -0.8, 1.6, (0.3, 0.5), "cannot tell")]
    first, shares = moving_settings(rows, WAYS[:1])
    assert columns(first)[0]["mark"] == ["diamond"]
    assert len(columns(shares)) == len(DoubtKind)
    assert columns(shares)[-1]["right"] == pytest.approx([100.0])
    ways, _ = moving_ways("lean stop", WAYS)
    assert columns(ways)[0]["high"] == [0.5, 9.0]
    assert "about 1 in 46 wrong" in columns(ways)[0]["told"][0]


def test_words_of_a_user_stay_words() -> None:
    nasty = '</div><script>x</script> "quoted" & more'
    left, _ = moving_study([StudyPoint(nasty, nasty, 1.0), StudyPoint("2", "B", 2.0)], {"a": 1.0}, 0.1, "mm")
    assert columns(left)[0]["told"] == [f"{nasty}, part {nasty}: 1 mm"]


def test_ways_are_drawn_and_told() -> None:
    plot = ways_plot("lean stop, 70 ± 3 thou", WAYS, Format.PNG)
    assert plot.image.startswith(b"\x89PNG")
    assert "by eye: ± 30 thou, not good enough, about 1 in 1.2 wrong" in plot.alt
    with pytest.raises(ValueError, match="at least one way"):
        ways_plot("lean stop", [])


def test_shares_of_a_doubt_add_up_and_go_where_they_belong() -> None:
    # variance 9 + 16 + 144 = 169 by hand
    parts = (
        Component("repeats", 3.0),
        Component("resolution", 4.0),
        Component("meniscus", 6.0, sensitivity=2.0),
    )
    shares = doubt_shares(Budget(1.0, parts))
    assert shares == pytest.approx({
        "repeats": 9 / 169, "step that can be read": 16 / 169, "the gauge's own error": 0.0,
        "the way of measuring": 144 / 169,
    })  # fmt: skip
    assert set(shares) == set(DOUBT_INKS)
    assert doubt_kind("size of short stick, short end") is DoubtKind.GAUGE
    for tool in instruments().values():
        assert sum(doubt_shares(reading_budget((1.0, 1.1), tool)).values()) == pytest.approx(1.0)
