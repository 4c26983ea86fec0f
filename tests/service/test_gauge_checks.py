"""Studies, calibrations and drifts from tables, and the sums at the bench."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dwellwright.errors import InputFault
from dwellwright.reports.plots.look import Format
from dwellwright.service.evidence_plots import write_plot
from dwellwright.service.gauge_checks import gauge_calibration, gauge_drift_of, gauge_study
from dwellwright.service.gauge_sums import (
    absolute_of_vacuum,
    angle_of_plug,
    choke_plate,
    converted,
    float_lever,
    height_of_level,
    level_of_height,
    plug_of_angle,
    travel_of,
    turns_of_travel,
)

SIZES = "truth,reading,unit\n60,61.2,thou\n70,71.1,thou\n80,81.6,thou\n90,91.3,thou\n100,101.7,thou\n"


def table(folder: Path, text: str) -> Path:
    path = folder / "table.csv"
    path.write_text(text, encoding="utf-8")
    return path


def study_text(noise: float, hands: str = "ABC", trials: int = 3) -> str:
    rng = np.random.default_rng(4)
    rows = ["part,hand,unit," + ",".join(f"reading_{k}" for k in range(trials))]
    for part in range(8):
        for hand in hands:
            cells = ",".join(f"{80 + 2 * part + rng.normal(0, noise):.3f}" for _ in range(trials))
            rows.append(f"{part},{hand},thou,{cells}")
    return "\n".join(rows) + "\n"


def test_a_fine_gauge_passes_and_a_coarse_one_does_not(tmp_path: Path) -> None:
    fine, coarse = (gauge_study(table(tmp_path, study_text(noise))) for noise in (0.1, 4.0))
    assert fine.report.facts["good_enough"]
    assert not coarse.report.facts["good_enough"]
    # drawn with a standard deviation of 0.1 thou by the same hand: the sample's own is within a fifth of it
    assert fine.report.facts["repeatability"] == pytest.approx(0.1, rel=0.2)


def test_a_tight_tolerance_asks_more_of_the_gauge(tmp_path: Path) -> None:
    path = table(tmp_path, study_text(0.5))
    wide, tight = gauge_study(path, 20.0), gauge_study(path, 0.1, "mm")
    assert wide.report.facts["good_enough"]
    assert not tight.report.facts["good_enough"]
    # six spreads over the whole width of 0.2 mm (closed form)
    assert tight.report.facts["tolerance_share"] == pytest.approx(6 * tight.study.gauge / 0.2e-3)
    with pytest.raises(InputFault, match="measures something else"):
        gauge_study(path, 1.0, "kPa")
    with pytest.raises(InputFault, match="above zero"):
        gauge_study(path, 0.0)


def test_a_calibration_is_the_least_squares_line(tmp_path: Path) -> None:
    found = gauge_calibration(table(tmp_path, SIZES), 85.0)
    slope, offset = np.polyfit([60, 70, 80, 90, 100], [61.2, 71.1, 81.6, 91.3, 101.7], 1)  # numpy's own fit
    assert found.report.facts["slope"] == pytest.approx(slope)
    assert found.report.facts["offset"] == pytest.approx(offset)
    assert found.report.facts["truth"] == pytest.approx((85 - offset) / slope)
    assert found.report.facts["needs_correction"]


def test_a_calibration_in_degrees_fahrenheit_keeps_its_offset(tmp_path: Path) -> None:
    rows = "".join(f"{t},{t + 3 + 0.1 * (-1) ** t},degF\n" for t in range(100, 200, 20))
    found = gauge_calibration(table(tmp_path, "truth,reading,unit\n" + rows))
    assert found.report.facts["slope"] == pytest.approx(1.0, abs=0.01)
    assert found.report.facts["offset"] == pytest.approx(3.1, abs=0.2)
    assert ("error in the middle", "+3.1 degF") in found.report.lines


def test_a_reading_beyond_the_known_sizes_is_warned_of(tmp_path: Path) -> None:
    found = gauge_calibration(table(tmp_path, SIZES), 150.0)
    assert any("outside the known sizes" in words for words in found.report.warnings)


def test_a_drift_is_seen_and_a_steady_gauge_is_left_alone(tmp_path: Path) -> None:
    rows = [80.1, 79.8, 80.2, 79.9, 81.2, 81.0, 81.4, 81.1]
    text = "truth,reading,unit\n" + "".join(f"80,{one},thou\n" for one in rows)
    drifted, steady = (gauge_drift_of(table(tmp_path, text), r) for r in (0.4, 4.0))
    # by hand, slack .2: .0 .0 .0 .0 1.0 1.8 3.0 > 4.77*.4 = 1.908 at check 7
    assert drifted.report.facts["first_alarm"] == 7
    assert "read high" in drifted.report.verdict
    assert steady.report.facts["first_alarm"] is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("truth,unit\n1,mm\n", "lacks a column `reading`"),
        ("truth,reading,unit\n1,1,mm\n2,2,mm\n", "nothing can be calibrated"),
        ("truth,reading,unit\n1,1,mm\n1,2,mm\n1,3,mm\n", "nothing can be calibrated"),
        ("truth,reading,unit\n1,x,mm\n", "not a number"),
        ("truth,reading,unit\n1,1,ell\n", "unknown unit"),
        ("truth,reading,unit\n", "has no rows"),
        ("", "empty"),
    ],
)
def test_a_table_that_says_nothing_is_refused(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(InputFault, match=says):
        gauge_calibration(table(tmp_path, text))


def test_a_bad_row_is_said_and_the_rest_is_used(tmp_path: Path) -> None:
    found = gauge_calibration(table(tmp_path, SIZES + "110,,thou\n120,121,kPa\n"))
    assert len(found.report.warnings) == 2
    assert "row 8" in found.report.warnings[1]


def test_drift_needs_a_repeatability(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="no drift can be seen"):
        gauge_drift_of(table(tmp_path, SIZES), 0.0)


def test_each_is_drawn_into_a_new_file_only(tmp_path: Path) -> None:
    draws = (gauge_study(table(tmp_path, study_text(0.5))).plot, gauge_calibration(table(tmp_path, SIZES)).plot,
             gauge_drift_of(table(tmp_path, SIZES), 0.3).plot)  # fmt: skip
    for number, draw in enumerate(draws):
        plot = write_plot(draw, tmp_path / f"{number}.png")
        assert plot.alt
        assert (tmp_path / f"{number}.png").read_bytes().startswith(b"\x89PNG")
        assert b"<svg" in draw(Format.SVG).image
    with pytest.raises(InputFault, match="cannot be written"):
        write_plot(draws[0], tmp_path / "0.png")
    with pytest.raises(InputFault, match="no such form of a plot"):
        write_plot(draws[0], tmp_path / "0.bmp")


def test_sums_go_there_and_back() -> None:
    plate = choke_plate((40.0, "mm"), 0.0, (0.0, "mm"), (0.0, "mm"))
    assert angle_of_plug((4.0, "mm"), plate) == pytest.approx(36.8699, abs=1e-4)  # acos(16/20)
    assert plug_of_angle(36.8699, plate, "mm") == pytest.approx(4.0, abs=1e-4)
    lever = float_lever((30.0, "mm"), (60.0, "mm"), 0.0, higher_is_richer=False)
    assert level_of_height((2.0, "mm"), lever) == pytest.approx(-1.0)  # arms one to two
    assert height_of_level((-1.0, "mm"), lever) == pytest.approx(2.0)
    assert travel_of(3.776, "10-32", "thou") == pytest.approx(118.0)  # check-values: .118 in * 32
    assert turns_of_travel((118.0, "thou"), "10-32") == pytest.approx(3.776)
    assert absolute_of_vacuum(20.0, "inHg", 101.325, "kPa") == pytest.approx(29.9213 - 20, abs=1e-3)
    assert converted(1.0, "psi", "Pa") == pytest.approx(6894.757, abs=1e-3)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: choke_plate((0.0, "mm"), 0.0, (0.0, "mm"), (0.0, "mm")), "no choke plate"),
        (lambda: choke_plate((40.0, "kPa"), 0.0, (0.0, "mm"), (0.0, "mm")), "measures no length"),
        (lambda: choke_plate((40.0, "mm"), float("nan"), (0.0, "mm"), (0.0, "mm")), "finite"),
        (lambda: float_lever((0.0, "mm"), (6.0, "mm"), 0.0, higher_is_richer=True), "no float lever"),
        (lambda: travel_of(float("inf"), "10-32", "mm"), "finite"),
        (lambda: travel_of(1.0, "10/32", "mm"), "thread"),
        (lambda: converted(1.0, "psi", "mm"), "does not measure"),
        (lambda: absolute_of_vacuum(40.0, "inHg", 29.9, "inHg"), "cannot be right"),
    ],
)
def test_sums_that_cannot_be_are_refused(call: object, says: str) -> None:
    with pytest.raises(InputFault, match=says):
        call()  # type: ignore[operator]
