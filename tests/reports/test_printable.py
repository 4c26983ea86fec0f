"""Text and numbers on paper."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.catalogue.steps import Judge
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.figure import Figure
from dwellwright.reports.lines import amount_text, criterion_lines, reading_lines, setting_lines, turn_lines
from dwellwright.reports.printable import (
    BREAK,
    MISSING,
    clipped,
    drawable,
    limited_tree,
    printable,
    printable_tree,
)
from dwellwright.reports.shown import SHOP_UNITS, decimals, figure_text, interval_text, number, reading_text

from .cases import BENCH, CAR, NASTY, PROOF, STEPS, TURNED


@given(st.text(alphabet=st.characters(), max_size=200))
def test_any_text_becomes_printable_and_stays_so(text: str) -> None:
    shown = printable(text)
    assert printable(shown) == shown
    for one in shown:
        assert one == BREAK or ord(one) in drawable() or one in (MISSING, "\u00a0"), hex(ord(one))
        assert one == BREAK or unicodedata.category(one) not in ("Cc", "Cf", "Cs", "Co", "Cn")


def test_markup_is_left_as_it_was_typed() -> None:
    typed = "#let x=1 $y$ <b>&amp; *bold* \\n \"q\" 'q' @r [x]"
    assert printable(typed) == typed


def test_direction_marks_and_unknown_glyphs() -> None:
    assert printable("a\u202eb\u2066c") == "abc"
    assert printable("日本") == MISSING * 2
    assert printable("שלום مرحبا Ωμέγα") == "שלום مرحبا Ωμέγα"


def test_long_words_may_be_broken_and_short_ones_not() -> None:
    assert printable("carburetor's") == "carburetor's"
    broken = printable("W" * 300)
    assert broken.replace(BREAK, "") == "W" * 300
    assert max(len(part) for part in broken.split(BREAK)) == 4


@pytest.mark.parametrize(
    ("text", "most", "out"),
    [("short", 9, "short"), ("one two three", 9, "one two …"), ("W" * 20, 6, "WWWW …")],
)
def test_clipping_shows_the_cut(text: str, most: int, out: str) -> None:
    assert clipped(text, most) == out
    assert len(out) <= most


def test_trees_are_cleaned_and_cut_through() -> None:
    assert printable_tree({"a": ["x\x00", {"b": ("y\x07",)}], "n": 1, "e": None}) == {
        "a": ["x", {"b": ["y"]}], "n": 1, "e": None,
    }  # fmt: skip
    long = "abcdefghij"
    assert limited_tree({"name": long, "rows": [{"name": long}], "other": long}, {"name": 6}) == {
        "name": "abcd …", "rows": [{"name": "abcd …"}], "other": long,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("doubt", "places"), [(0.05, 2), (0.3, 1), (0.29, 2), (0.12, 2), (3.2, 0), (1.4, 1), (150, 0), (0.0, 3)]
)
def test_decimals_follow_the_doubt(doubt: float, places: int) -> None:
    """One digit of doubt, two where it begins with 1 or 2 (JCGM 100 7.2.6)."""
    assert decimals(doubt) == places


def test_numbers_have_a_true_minus_and_no_negative_zero() -> None:
    assert (number(-1.25, 1), number(-0.01, 1), number(2.0, 0)) == ("−1.2", "0.0", "2")


def test_readings_in_shop_units() -> None:
    """30.8 deg of 60 is duty 0.51333; 170 thou is 4.318 mm; 90 degC is 363.15 K: exact definitions."""
    duty = Observation(Measured.DUTY, Regime.IDLE, 30.8 / 60, 0.4 / 60, "x")
    assert (reading_text(duty, "deg"), interval_text(duty, "deg")) == ("30.8°", "30.0 to 31.6°")
    stop = Observation(Measured.RICH_STOP, Regime.BENCH, 4.318e-3, 0.6 * 0.0254e-3, "x")
    assert reading_text(stop, "thou") == "170.0 thou"
    water = Observation(Measured.COOLANT_THERMOMETER, Regime.IDLE, 363.15, 1.5, "x")
    assert (reading_text(water, "degC"), interval_text(water, "degC")) == ("90.0 °C", "87.0 to 93.0 °C")
    share = Observation(Measured.CLOSED_LOOP_SHARE, Regime.IDLE, 0.995, 0.01, "x")
    assert interval_text(share, "%") == "97.5 to 100.0 %"


def test_every_kind_of_reading_has_a_unit() -> None:
    assert set(SHOP_UNITS) == set(Measured)


def test_figures_as_on_the_sheet() -> None:
    stop = Figure(170 * 0.0254e-3, 4 * 0.0254e-3, Judge.WITHIN, "thou", "x")
    assert figure_text(stop) == "170 ± 4 thou"
    assert figure_text(Figure(1 / 6, 0.0, Judge.AT_LEAST, "deg", "x"), duty=True) == "at least 10°"
    assert figure_text(Figure(0.9, 0.0, Judge.AT_LEAST, "%", "x")) == "at least 90 %"
    assert figure_text(Figure(0.5, 0.0, Judge.AT_MOST, "V", "x")) == "at most 0.5 V"


def test_setting_lines_tell_as_found_from_as_left() -> None:
    lines = {line.title: line for line in setting_lines(STEPS, TURNED)}
    rich = lines["Solenoid travel: rich stop"]
    assert (rich.wanted, rich.as_found, rich.as_left) == ("170 ± 4 thou", "197.0 thou", "170.6 thou")
    assert (rich.turned, rich.verdict) == ("13/16 turn clockwise", "in")
    assert lines["Solenoid travel: lean stop"].as_left == "as found"
    assert lines["Fast-idle cam and screw"].as_left == "by eye"
    assert lines["Choke pull-off"].as_left == "4.40 mm"
    assert "Choke coil and plate" not in lines


def test_turn_reading_and_criterion_lines() -> None:
    turns = turn_lines(reversed(TURNED), STEPS)
    assert [line.what for line in turns] == ["Solenoid travel: rich stop", "idle_dwell"]
    assert turns[1].amount == "1/4 turn counterclockwise"
    assert amount_text(0.01) == "0"
    assert len(reading_lines([*BENCH, *CAR])) == len(BENCH) + len(CAR)
    first = criterion_lines(PROOF)[0]
    assert (first.title, first.wanted, first.read) == ("dwell at hot idle", "30 ± 5°", "30.8°")
    reserve = next(line for line in criterion_lines(PROOF) if line.title.startswith("reserve"))
    assert (reserve.wanted, reserve.read) == ("at least 10°", "29.2°")


def test_nasty_text_survives_as_text() -> None:
    assert '#panic("no")' in printable(NASTY)
    assert "\x00" not in printable(NASTY)
