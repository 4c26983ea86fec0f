"""Times that no clock shows: left out, counted or refused, and what remains rises."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.order import DAY, LONGEST_RECORDING, SMALLEST_STEP, ordered_time
from dwellwright.evidence.trace.trace import Damage

PLAIN = np.arange(0.0, 10.0, 0.1)


@pytest.mark.parametrize("wrong", [1e300, -1e300, np.inf, np.nan, 1e10])
@pytest.mark.parametrize("row", [0, 50, 99])
def test_a_time_that_is_none_is_left_out(wrong: float, row: int) -> None:
    times = PLAIN.copy()
    times[row] = wrong
    found = ordered_time(times, first_row=2, source="log.csv")
    assert found.seconds.size == 99
    assert [(one.kind, one.count, one.row) for one in found.findings] == [(Damage.BLANK, 1, 2 + row)]


@pytest.mark.parametrize("near", [0.0, 5e-324, 1e-9])
def test_a_time_that_hardly_moves_is_a_repeated_one(near: float) -> None:
    times = np.insert(PLAIN, 1, near)
    found = ordered_time(times, first_row=2, source="log.csv")
    assert found.seconds.size == 100
    assert found.findings[0].kind is Damage.DUPLICATE_TIME


def test_a_clock_set_back_at_the_second_row_still_rises() -> None:
    found = ordered_time(np.concatenate([[5000.0], PLAIN]), first_row=2, source="log.csv")
    assert np.all(np.diff(found.seconds) > 0)
    assert found.findings[0].kind is Damage.CLOCK_JUMP


def test_a_recording_of_more_than_a_month_names_its_leap() -> None:
    times = np.concatenate([PLAIN, PLAIN + LONGEST_RECORDING + DAY])
    with pytest.raises(
        InputFault, match=r"log.csv, about row 102, time column.*at most 31 days; got 32 days"
    ):
        ordered_time(times, first_row=2, source="log.csv")


@given(st.lists(st.floats(allow_nan=True, allow_infinity=True), min_size=2, max_size=40))
def test_what_is_kept_rises_or_is_refused(times: list[float]) -> None:
    try:
        found = ordered_time(np.array(times), first_row=2, source="log.csv")
    except InputFault:
        return
    assert np.all(np.diff(found.seconds) >= 0.5 * SMALLEST_STEP)
    assert np.all(np.isfinite(found.seconds))
