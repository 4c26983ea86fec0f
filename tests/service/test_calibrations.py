"""Calibrations kept for the shop's instruments, and the readings that they correct."""

from __future__ import annotations

from pathlib import Path

import pytest

from dwellwright.errors import InputFault
from dwellwright.records.audit import changes
from dwellwright.records.engine import reading
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.calibrations import (
    calibrated_instruments,
    calibration_history,
    keep_calibration,
    take_back_calibration,
    tool_labels,
)
from dwellwright.service.evidence import add_evidence, read_for_shop
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.readings import add_reading, reading_history
from dwellwright.units import duty_of_dwell, from_si

WHO, DEPTH = "tester", "depth_micrometer:DM-3"
THOU = 25.4e-6


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """A micrometer that reads 1.5 thou too much everywhere, to the tenth."""
    path = tmp_path / "checks.csv"
    pairs = ((40, 41.5), (60, 61.4), (80, 81.6), (100, 101.5))
    path.write_text("truth,reading,unit\n" + "".join(f"{a},{b},thou\n" for a, b in pairs))
    return path


def keep(
    shop: Shop, table: Path, tool: str = DEPTH, doubt: float | None = 0.02, day: str = "2026-03-01"
) -> None:
    keep_calibration(shop, table, tool, doubt, day, WHO)


def test_a_reading_is_corrected_and_says_what_was_read(shop: Shop, job: int, table: Path) -> None:
    keep(shop, table)
    seen = add_reading(
        shop, job, "rod_lean_gauge", [71.5, 71.5], "thou", Side.AS_FOUND, WHO, tool=DEPTH
    ).observation
    assert from_si(seen.value, "thou") == pytest.approx(70.0, abs=0.05)  # by construction 1.5 thou too much
    assert "read 71.5 thou with our depth micrometer DM-3, corrected by -1.5 thou" in seen.source
    assert "calibration of 2026-03-01" in seen.source
    usual = add_reading(
        shop, job, "rod_lean_gauge", [71.5, 71.5], "thou", Side.AS_FOUND, WHO, tool="depth_micrometer"
    ).observation
    assert from_si(usual.value, "thou") == pytest.approx(71.5)


def test_readings_taken_before_stay_as_they_are(shop: Shop, job: int, table: Path) -> None:
    keep_other = "depth_micrometer:DM-4"
    keep(shop, table, keep_other)
    old = add_reading(
        shop, job, "rod_lean_gauge", [71.5], "thou", Side.AS_FOUND, WHO, tool=keep_other
    ).observation
    take_back_calibration(shop, keep_other, WHO)
    keep(shop, table, keep_other, day="2026-04-01")
    (still,) = (one.observation for one in reading_history(shop, job))
    assert (still.value, still.uncertainty, still.source) == (old.value, old.uncertainty, old.source)


def test_one_taken_back_stays_in_the_history_and_the_one_before_counts(shop: Shop, table: Path) -> None:
    keep(shop, table)
    keep(shop, table, day="2026-05-01")
    (one,) = calibrated_instruments(shop)
    assert one.record is not None
    assert one.record.done.day.isoformat() == "2026-05-01"
    take_back_calibration(shop, DEPTH, WHO)
    (one,) = calibrated_instruments(shop)
    assert one.record is not None
    assert one.record.done.day.isoformat() == str(one.own.calibrated) == "2026-03-01"
    assert [bool(kept.withdrawn) for kept in calibration_history(shop)] == [False, True]
    with reading(shop.engine) as connection:
        said = [entry.what for entry in changes(connection)]
    assert said.count("calibration kept") == 2
    assert said.count("calibration taken back") == 1
    take_back_calibration(shop, DEPTH, WHO)
    with pytest.raises(InputFault, match="no calibration to take back"):
        take_back_calibration(shop, DEPTH, WHO)


def test_the_later_day_counts_whatever_was_typed_in_last(shop: Shop, table: Path) -> None:
    keep(shop, table, day="2026-05-01")
    keep(shop, table, day="2026-01-01")
    (one,) = calibrated_instruments(shop)
    assert one.record is not None
    assert one.record.done.day.isoformat() == "2026-05-01"


def test_a_step_and_a_bench_sheet_are_corrected_too(
    shop: Shop, job: int, table: Path, tmp_path: Path
) -> None:
    keep(shop, table)
    entry = StepEntry(as_left=[71.5], unit="thou", instrument=DEPTH)
    done = record_step(shop, job, Phase.BENCH, "lean_stop", entry, WHO).done
    assert done.as_left == pytest.approx(70.0 * THOU, abs=0.05 * THOU)
    sheet = tmp_path / "bench.csv"
    head, row = "item,unit,spec,instrument,reading_1,reading_2", "rod_lean_gauge,thou,70,{},71.5,71.5"
    sheet.write_text(f"{head}\n{row.format('Depth micrometer:DM-3')}\n")
    added = add_evidence(shop, job, sheet, Side.AS_FOUND, WHO)
    (seen,) = added.report.observations
    assert from_si(seen.value, "thou") == pytest.approx(70.0, abs=0.05)
    assert "read 71.5 thou with our depth micrometer DM-3" in seen.source
    assert read_for_shop(None, sheet).observations[0].value == pytest.approx(71.5 * THOU)
    sheet.write_text(f"{head}\n{row.format('depth_micrometer:DM-9')}\n")
    report = read_for_shop(shop, sheet)
    assert report.observations[0].value == pytest.approx(71.5 * THOU)
    assert any("the shop has no depth micrometer DM-9" in words for words in report.warnings)


def test_a_dwell_meter_and_a_thermometer_are_instruments_too(shop: Shop, job: int, tmp_path: Path) -> None:
    path = tmp_path / "dwell.csv"
    path.write_text(
        "truth,reading,unit\n" + "".join(f"{x},{x + 2 + (x % 20) / 100},deg\n" for x in (10, 25, 40, 55))
    )
    keep_calibration(shop, path, "dwell_meter:yellow", 0.05, "2026-03-01", WHO)
    seen = add_reading(
        shop, job, "dwell", [32.0, 32.0], "deg", Side.AS_FOUND, WHO, tool="dwell_meter:yellow"
    ).observation
    assert seen.value == pytest.approx(duty_of_dwell(29.9), abs=duty_of_dwell(0.1))
    path.write_text("truth,reading,unit\n0,2,degC\n50,52.5,degC\n100,102,degC\n")
    keep_calibration(shop, path, "thermometer:T1", 0.1, "", WHO)
    hot = add_reading(
        shop, job, "coolant", [92.0], "degC", Side.AS_FOUND, WHO, tool="thermometer:T1"
    ).observation
    assert "read 92 degC with our thermometer T1" in hot.source


def test_an_instrument_on_the_list_without_a_calibration_is_named(shop: Shop, job: int, table: Path) -> None:
    keep(shop, table)
    take_back_calibration(shop, DEPTH, WHO)
    assert DEPTH in tool_labels(shop)
    seen = add_reading(
        shop, job, "rod_lean_gauge", [71.5], "thou", Side.AS_FOUND, WHO, tool=DEPTH
    ).observation
    assert seen.value == pytest.approx(71.5 * THOU)
    assert "of which no calibration is kept" in seen.source


@pytest.mark.parametrize(
    ("tool", "doubt", "day", "match"),
    [
        ("depth_micrometer", 0.02, "", "no mark"),
        ("stick:1", 0.02, "", "unknown instrument"),
        ("voltmeter:V1", 0.02, "", "does not measure that"),
        (DEPTH, None, "", "how far the known sizes can be trusted is not said"),
        (DEPTH, -0.1, "", "how far the known sizes can be trusted is not said"),
        (DEPTH, 0.02, "2999-01-01", "day of calibration cannot be"),
    ],
)
def test_a_calibration_that_cannot_be_leaves_the_shop_as_it_was(
    shop: Shop, table: Path, tool: str, doubt: float | None, day: str, match: str
) -> None:
    with pytest.raises(InputFault, match=match):
        keep(shop, table, tool, doubt, day)
    assert calibration_history(shop) == []
    assert calibrated_instruments(shop) == []


def test_swapped_columns_are_seen(shop: Shop, tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("truth,reading,unit\n1,25,thou\n2,50,thou\n3,76,thou\n")
    with pytest.raises(InputFault, match="far from the known sizes"):
        keep(shop, path)


def test_an_instrument_that_the_shop_has_not_is_refused(shop: Shop, job: int) -> None:
    with pytest.raises(InputFault, match="the shop has no such instrument"):
        add_reading(shop, job, "rod_lean_gauge", [71.5], "thou", Side.AS_FOUND, WHO, tool="caliper:ghost")
    with pytest.raises(InputFault, match="does not measure that"):
        add_reading(shop, job, "dwell", [30], "deg", Side.AS_FOUND, WHO, tool="caliper")
