"""Readings corrected by the calibration of their instrument."""

from __future__ import annotations

import pytest

from dwellwright.catalogue.instruments import instrument
from dwellwright.evidence.gauge.budget import Budget, Component, reading_budget
from dwellwright.evidence.gauge.calibration import calibration
from dwellwright.evidence.gauge.corrected import InstrumentLine, NoLine

SIZES = (2.0e-3, 5.0e-3, 8.0e-3, 12.0e-3, 20.0e-3)
READS = (2.034e-3, 5.041e-3, 8.048e-3, 12.062e-3, 20.079e-3)
CALIPER = instrument("caliper")


def line(reads: tuple[float, ...] = READS, **changed: float) -> InstrumentLine:
    facts = {"size_doubt": 1e-6, "step": CALIPER.resolution} | changed
    return InstrumentLine("our caliper C-1", "2026-03-01", calibration(SIZES, reads), **facts)


def test_value_and_doubt_agree_with_an_independent_library() -> None:
    # GTC's line fit and its inverse (reference library), for a reading with no doubt of its own
    gtc = pytest.importorskip("GTC")
    fit = gtc.type_a.line_fit(list(SIZES), list(READS))
    wanted = (gtc.ureal(9.050e-3, 0) - fit.a_b.a) / fit.a_b.b
    own = line(size_doubt=0.0, step=0.0)
    found = own.corrected(Budget(9.050e-3, ()))
    assert found.value == pytest.approx(wanted.x, abs=1e-12)
    assert found.uncertainty == pytest.approx(wanted.u, rel=1e-3)
    assert found.freedom == pytest.approx(len(SIZES) - 2)


def test_the_calibration_takes_the_place_of_the_limit_of_error() -> None:
    raw = reading_budget((9.05e-3, 9.06e-3), CALIPER)
    found = line().corrected(raw)
    names = [part.name for part in found.components]
    assert names == ["repeats", "resolution", "calibration line", "known sizes"]
    assert found.uncertainty < raw.uncertainty
    assert found.value < raw.value


def test_a_line_within_chance_shifts_nothing_and_leaves_its_error_as_doubt() -> None:
    even = tuple(size + (1, -1, 1, -1, 1)[at] * 5e-6 for at, size in enumerate(SIZES))
    own = line(even)
    found = own.corrected(Budget(9e-3, (Component("calibration", 1e-5),)))
    assert not own.line.needs_correction()
    assert found.value == 9e-3
    left = next(part for part in found.components if part.name == "error left as it is")
    assert left.uncertainty == pytest.approx(abs(own.line.truth(9e-3)[0] - 9e-3))
    assert "no correction needed" in own.words(9e-3, "mm")


def test_outside_the_known_sizes_nothing_is_corrected() -> None:
    raw = reading_budget((25e-3,), CALIPER)
    assert line().corrected(raw) == raw
    assert "outside 2 to 20 mm" in line().words(25e-3, "mm")


def test_rounded_readings_that_fit_by_luck_are_not_taken_for_certain() -> None:
    lucky = line(tuple(size + 2e-5 for size in SIZES))
    assert lucky.line.residual == pytest.approx(0.0, abs=1e-12)
    assert lucky.line_doubt(9e-3) >= CALIPER.resolution / 12**0.5 / len(SIZES) ** 0.5


def test_an_instrument_without_a_calibration_says_so() -> None:
    none = NoLine("our caliper C-2")
    assert none.corrected(Budget(1.0, ())).value == 1.0
    assert none.words(1.0, "mm") == "read with our caliper C-2, of which no calibration is kept"


def test_words_name_the_raw_reading_the_correction_and_its_doubt() -> None:
    said = InstrumentLine(
        "our caliper C-1", "2026-03-01", calibration(SIZES, READS), 1e-6, 1e-5, "calibration overdue"
    )
    words = said.words(9.05e-3, "mm")
    assert words.startswith("read 9.05 mm with our caliper C-1, corrected by -0.05")
    assert "after its calibration of 2026-03-01, itself ±" in words
    assert words.endswith("(calibration overdue)")
