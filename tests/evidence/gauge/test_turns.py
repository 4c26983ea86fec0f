"""Threads against ASME B1.1, and turns against arithmetic done by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.turns import (
    ClockwiseEffect,
    Thread,
    rounded_turns,
    thread_of,
    travel_of_turns,
    turn_words,
    turns_out_to_specification,
    turns_to_specification,
)

INCH = 0.0254


@pytest.mark.parametrize(
    ("designation", "pitch_mm"),
    [
        ("10-32", 0.79375),
        ("#4-40 UNC", 0.635),
        ("10-24", 25.4 / 24),
        ("1/4-28 UNF-2A", 25.4 / 28),
        ("M5x0.8", 0.8),
    ],
)
def test_pitch_is_that_of_the_standard(designation: str, pitch_mm: float) -> None:
    # ASME B1.1: pitch = 1 inch / threads per inch; ISO 261 states metric pitches directly.
    assert thread_of(designation).pitch == pytest.approx(pitch_mm * 1e-3, rel=1e-12)


def test_numbered_size_has_its_major_diameter() -> None:
    # ASME B1.1: number 10 is 0.190 in over the crests, number 0 is 0.060 in.
    assert thread_of("#10-32").major_diameter == pytest.approx(0.190 * INCH)
    assert thread_of("0-80").major_diameter == pytest.approx(0.060 * INCH)
    assert thread_of("1/4-20").major_diameter == pytest.approx(0.25 * INCH)


def test_travel_and_turns_agree() -> None:
    # Closed form: 0.118 in at 32 threads per inch is 3.776 turns.
    assert travel_of_turns(3.776, Thread.per_inch(32)) == pytest.approx(0.118 * INCH, rel=1e-12)


@pytest.mark.parametrize("bad", ["", "10", "10-0", "M5", "M5x0", "stop", "10-32 left", "٣-32", "1/0-20"])
def test_odd_thread_is_refused(bad: str) -> None:
    with pytest.raises(InputFault, match="thread"):
        thread_of(bad)


@pytest.mark.parametrize(
    ("turns", "words"),
    [
        (0.125, "1/8 turn"),
        (0.25, "1/4 turn"),
        (0.375, "1/4 + 1/8 turn"),
        (0.875, "3/4 + 1/8 turn"),
        (1.0, "1 turn"),
        (2.625, "2 + 1/2 + 1/8 turns"),
    ],
)
def test_words_count_as_a_hand_does(turns: float, words: str) -> None:
    assert turn_words(turns) == words


def test_high_stop_goes_down_clockwise() -> None:
    # By hand: 180.3 - 152 = 28.3 thou; 32 per inch is 31.25 thou a turn; 0.9056 turn; nearest eighth 0.875.
    advice = turns_to_specification(
        0.1803 * INCH,
        0.152 * INCH,
        thread_of("10-32"),
        ClockwiseEffect.LOWERS,
        uncertainty=0.002 * INCH,
        name="rich stop",
    )
    assert advice.turns == pytest.approx(0.9056, abs=1e-4)
    assert advice.direction == "clockwise"
    assert advice.words == "turn the rich stop 3/4 + 1/8 turn clockwise, then measure again"
    assert advice.travel == pytest.approx(0.0283 * INCH)
    assert advice.remaining == pytest.approx((0.0283 - 0.875 * 0.03125) * INCH, abs=1e-9)
    # 2 thou is 0.064 turn; with 1/32 turn of the hand: sqrt(.064^2 + .03125^2) = 0.07122
    assert advice.uncertainty == pytest.approx(0.07122, abs=1e-5)


def test_direction_turns_round_with_the_effect() -> None:
    thread = Thread.per_inch(40)
    down = turns_to_specification(5e-3, 4e-3, thread, ClockwiseEffect.LOWERS)
    up = turns_to_specification(5e-3, 4e-3, thread, ClockwiseEffect.RAISES)
    assert (down.direction, up.direction) == ("clockwise", "counterclockwise")
    assert down.turns == -up.turns


def test_lever_ratio_divides_the_turns() -> None:
    thread = Thread.per_inch(32)
    plain = turns_to_specification(4e-3, 5e-3, thread, ClockwiseEffect.RAISES)
    lever = turns_to_specification(4e-3, 5e-3, thread, ClockwiseEffect.RAISES, ratio=2.0)
    assert lever.turns == pytest.approx(plain.turns / 2)


def test_small_error_is_left_alone_and_doubtful_direction_said() -> None:
    thread = thread_of("10-32")
    near = turns_to_specification(4.01e-3, 4e-3, thread, ClockwiseEffect.LOWERS)
    assert near.direction == "leave"
    assert "leave the screw" in near.words
    vague = turns_to_specification(4.2e-3, 4e-3, thread, ClockwiseEffect.LOWERS, uncertainty=0.3e-3)
    assert "even the direction is in doubt" in vague.words


@given(
    st.floats(1e-4, 2e-2),
    st.floats(1e-4, 2e-2),
    st.sampled_from(list(ClockwiseEffect)),
    st.floats(8, 100),
)
def test_following_the_advice_lands_within_a_sixteenth(
    now: float, wanted: float, effect: ClockwiseEffect, tpi: float
) -> None:
    thread = Thread.per_inch(tpi)
    advice = turns_to_specification(now, wanted, thread, effect)
    after = now + effect.sign * rounded_turns(advice.turns) * thread.pitch
    assert abs(after - wanted) <= thread.pitch / 16 * (1 + 1e-9) + 1e-15
    assert advice.remaining == pytest.approx(after - wanted, abs=1e-12)


def test_needle_counted_in_turns_out() -> None:
    out = turns_out_to_specification(3.5, 4.0, name="idle mixture needle")
    assert out.direction == "counterclockwise"
    assert out.turns == -0.5
    assert turns_out_to_specification(4.25, 4.0).direction == "clockwise"


def test_refusals() -> None:
    thread = Thread.per_inch(32)
    with pytest.raises(ValueError, match="ratio must be positive"):
        turns_to_specification(1e-3, 1e-3, thread, ClockwiseEffect.RAISES, ratio=0)
    with pytest.raises(ValueError, match="cannot be negative"):
        turns_to_specification(1e-3, 1e-3, thread, ClockwiseEffect.RAISES, uncertainty=-1)
    with pytest.raises(ValueError, match="pitch must be positive"):
        Thread(0.0)
    with pytest.raises(ValueError, match="per inch must be positive"):
        Thread.per_inch(-3)
    with pytest.raises(ValueError, match="cannot be negative"):
        turns_out_to_specification(1, 2, uncertainty=-0.1)
