"""The bench sheet: any order, unit on every row, each wrong cell named and nothing else spoiled."""

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dwellwright.catalogue.gauge_items import ItemKind, gauge_items
from dwellwright.catalogue.instruments import instruments
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge import GaugeSheet, observations, read_gauges
from dwellwright.evidence.gauge.judgement import Verdict, judgements
from dwellwright.evidence.gauge.shop.truth import GaugeTruth
from dwellwright.evidence.observation import Measured, Regime

THOU = 0.0254e-3
HEAD = "item,unit,spec,reading_1,reading_2,reading_3\n"
CONTEXT = (
    "engine,,,V6,,\ncylinders,,,6,,\ndisplacement,l,,3.3,,\nidle_speed,rpm,700,,,\ntrouble_codes,,,none,,\n"
)
ROD = "rod_rich_gauge,thou,152,180,182,179\n"


def sheet(folder: Path, text: str) -> GaugeSheet:
    path = folder / "bench.csv"
    path.write_text(text, encoding="utf-8")
    return read_gauges(path)


def test_context_and_reading(tmp_path: Path) -> None:
    found = sheet(tmp_path, HEAD + CONTEXT + ROD)
    assert (found.engine, found.cylinders, found.codes) == ("V6", 6, ())
    assert found.displacement == pytest.approx(3.3e-3)
    assert found.idle_speed == pytest.approx(700 / 60)
    rod = found.readings["rod_rich_gauge"]
    assert rod.repeats == pytest.approx((180 * THOU, 182 * THOU, 179 * THOU))
    assert rod.mean == pytest.approx(180.3333 * THOU, rel=1e-6)
    # by hand: deviations -1/3, 5/3, -4/3 thou; sqrt((1+25+16)/9/2) = 1.5275
    assert rod.spread == pytest.approx(1.5275 * THOU, rel=1e-4)
    assert rod.wanted == pytest.approx(152 * THOU)
    assert found.findings == ()


def test_any_column_order_and_count(tmp_path: Path) -> None:
    text = "reading_1;unit;r2;3;4;item;spec;tol\n10,0;mm;10,2;9,8;10,0;float_gauge_below_rim;9,5;0,8\n"
    reading = sheet(tmp_path, text).readings["float_gauge_below_rim"]
    assert len(reading.repeats) == 4
    assert reading.mean == pytest.approx(10e-3)
    assert reading.tolerance == pytest.approx(0.8e-3)
    assert reading.spread > 0


def test_units_per_row(tmp_path: Path) -> None:
    text = HEAD + "rod_lean_gauge,mm,,2.159,,\nrod_rich_gauge,in,,0.185,,\nidle_vacuum,inHg,,20,,\n"
    text += "coolant_thermometer,degF,,190,,\n"
    readings = sheet(tmp_path, text).readings
    assert readings["rod_lean_gauge"].mean == pytest.approx(85 * THOU)
    assert readings["rod_rich_gauge"].mean == pytest.approx(185 * THOU)
    assert readings["idle_vacuum"].mean == pytest.approx(67727.77, abs=0.1)
    assert readings["coolant_thermometer"].mean == pytest.approx(360.93, abs=0.01)


def test_codes_are_parted(tmp_path: Path) -> None:
    assert sheet(tmp_path, HEAD + "trouble_codes,,,13;44,21,\n").codes == ("13", "44", "21")
    assert sheet(tmp_path, HEAD + "trouble_codes,,,,,\n" + ROD).codes == ()


def test_named_instrument_counts(tmp_path: Path) -> None:
    text = "item,unit,spec,instrument,reading_1\nrod_travel,thou,100,{},101\n"
    coarse = observations(sheet(tmp_path, text.format("steel rule")))[0].uncertainty
    fine = observations(sheet(tmp_path, text.format("dial indicator")))[0].uncertainty
    assert fine < coarse / 3
    odd = sheet(tmp_path, text.format("eyeball"))
    assert "unknown instrument" in odd.findings[0].message
    assert len(odd.readings) == 1


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        ("rod_travel,thou,100,abc,102,101", "row 3, reading_1", "not a number"),
        ("rod_travel,thou,100,nan,102,101", "row 3, reading_1", "not a number"),
        ("rod_travel,thou,100,inf,102,101", "row 3, reading_1", "not a number"),
        ("rod_travel,thou,100,5000,102,101", "row 3, reading_1", "not believable"),
        ("rod_travel,thou,ten,100,102,101", "row 3, spec", "not a number"),
        ("rod_travel,cubits,100,100,102,101", "row 3, unit", "unknown unit"),
        ("rod_travel,,100,100,102,101", "row 3, unit", "no unit"),
        ("rod_travel,V,100,100,102,101", "row 3, unit", "does not measure"),
        ("rod_travel,thou,100,,,", "row 3", "no readings"),
        (",thou,100,1,2,3", "row 3, item", "names no item"),
        ("rod_rich_gauge,thou,100,1,2,3", "row 3, item", "twice"),
        ("cylinders,,,six,,", "row 3, reading_1", "not a number"),
        ("cylinders,,,4.5,,", "row 3, reading_1", "cylinders"),
        ("displacement,l,,,,", "row 3", "blank"),
        ("rod_travl,thou,100,1,2,3", "row 3, item", "perhaps rod_travel"),
        ("rod_travel,thou,100,1,2,3,4,5", "row 3", "more cells"),
    ],
)
def test_bad_row_is_a_finding_and_spoils_no_other(tmp_path: Path, row: str, place: str, words: str) -> None:
    found = sheet(tmp_path, HEAD + ROD + row + "\ntps_closed,V,0.52,0.52,0.53,0.51\n")
    assert len(found.findings) == 1
    assert words in found.findings[0].message
    assert found.findings[0].where == f"bench.csv, {place}"
    assert {"rod_rich_gauge", "tps_closed"} <= set(found.readings)
    assert found.readings["rod_rich_gauge"].repeats[0] == pytest.approx(180 * THOU)


def test_good_repeats_of_a_row_with_a_bad_cell_stay(tmp_path: Path) -> None:
    found = sheet(tmp_path, HEAD + "rod_travel,thou,100,1O0,102,101\n")
    assert len(found.readings["rod_travel"].repeats) == 2
    assert len(found.findings) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        (HEAD, "no rows"),
        ("item,spec,reading_1\nrod_travel,1,2\n", "lacks a column"),
        ("item,unit,spec\nrod_travel,thou,2\n", "lacks a column"),
        ("item,item,unit,reading_1\na,b,mm,1\n", "say the same"),
        (HEAD + "rod_travel,thou,100,x,y,z\n", "not a number"),
    ],
)
def test_useless_sheet_is_refused(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(InputFault, match=words):
        sheet(tmp_path, text)


@given(st.text(max_size=300), st.integers(0, 6))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
def test_any_text_gives_a_sheet_or_one_clear_fault(tmp_path: Path, junk: str, cut: int) -> None:
    lines = [HEAD.strip(), *CONTEXT.strip().split("\n"), ROD.strip()]
    lines.insert(cut + 1, junk)
    found = None
    with suppress(InputFault):
        found = sheet(tmp_path, "\n".join(lines).encode("utf-8", "replace").decode())
    if found and "\n" not in junk and "\r" not in junk and found.readings.get("rod_rich_gauge"):
        assert all(finding.where for finding in found.findings)
        assert found.readings["rod_rich_gauge"].unit


def test_observations_of_every_item(tmp_path: Path) -> None:
    rows = {
        "rod_lean_gauge": ("thou", 85, Measured.LEAN_STOP, Regime.BENCH, 85 * THOU),
        "rod_rich_gauge": ("thou", 185, Measured.RICH_STOP, Regime.BENCH, 185 * THOU),
        "rod_travel": ("thou", 100, Measured.ROD_TRAVEL, Regime.BENCH, 100 * THOU),
        "idle_needle_turns_out": ("turns", 4, Measured.IDLE_NEEDLE, Regime.BENCH, 4.0),
        "idle_bleed_turns_out": ("turns", 2, Measured.IDLE_BLEED, Regime.BENCH, 2.0),
        "float_gauge_below_rim": ("mm", 8, Measured.FLOAT_LEVEL, Regime.BENCH, 8e-3),
        "float_gauge_running": ("mm", 8, Measured.FLOAT_LEVEL_RUNNING, Regime.IDLE, 8e-3),
        "idle_vacuum": ("kPa", 67, Measured.IDLE_VACUUM, Regime.IDLE, 67e3),
        "barometer": ("kPa", 100, Measured.BAROMETER, Regime.KEY_ON, 100e3),
        "coolant_thermometer": ("degC", 87, Measured.COOLANT_THERMOMETER, Regime.IDLE, 360.15),
        "tps_closed": ("V", 0.52, Measured.THROTTLE_SENSOR_CLOSED, Regime.KEY_ON, 0.52),
        "fuel_pressure": ("kPa", 35, Measured.FUEL_PRESSURE, Regime.IDLE, 35e3),
        "solenoid_resistance": ("ohm", 22, Measured.SOLENOID_RESISTANCE, Regime.BENCH, 22.0),
        "fuel_ethanol_test": ("vol_pct", 10, Measured.ETHANOL, Regime.BENCH, 0.10),
        "o2_forced_rich": ("mV", 870, Measured.SENSOR_FORCED_RICH, Regime.IDLE, 0.87),
        "o2_forced_lean": ("mV", 60, Measured.SENSOR_FORCED_LEAN, Regime.IDLE, 0.06),
        "purge_hose_vacuum_hot_idle": ("kPa", 0.5, Measured.PURGE_VACUUM, Regime.IDLE, 500.0),
    }
    text = HEAD + "".join(
        f"{name},{row[0]},{row[1]},{row[1]},{row[1]},{row[1]}\n" for name, row in rows.items()
    )
    found = {one.measured: one for one in observations(sheet(tmp_path, text))}
    assert len(found) == len(rows)
    for _, _, measured, regime, value in rows.values():
        one = found[measured]
        assert one.value == pytest.approx(value)
        assert one.wanted == pytest.approx(value)
        assert one.regime is regime
        assert one.uncertainty > 0


def test_rod_uncertainty_by_hand(tmp_path: Path) -> None:
    (one,) = observations(sheet(tmp_path, HEAD + ROD))
    # thou: repeats sqrt((20*4 + 14/3)/22/3)=1.1326, resolution .2887, limit 2/sqrt3=1.1547, method 1 -> 1.9254;
    # by hand, before the small widening of Student's t at 180 degrees of freedom.
    assert one.uncertainty / THOU == pytest.approx(1.925, rel=0.02)


def test_card_of_a_shop_made_gauge_corrects_the_observation(tmp_path: Path) -> None:
    found = sheet(tmp_path, HEAD + ROD)
    (plain,) = observations(found)
    card = GaugeTruth("the brass gauge", 152 * THOU, 153.5 * THOU, 0.2 * THOU)
    (fixed,) = observations(found, {"rod_rich_gauge": card})
    # the gauge is 1.5 thou longer than it says, so every reading was 1.5 thou small
    assert (fixed.value - plain.value) / THOU == pytest.approx(1.5)
    # its known size (0.2) takes the place of an unknown one (2/sqrt 3)
    assert plain.uncertainty**2 - fixed.uncertainty**2 == pytest.approx((4 / 3 - 0.04) * THOU**2, rel=0.05)
    assert "card of the brass gauge" in fixed.source


def test_shipped_items_are_sound() -> None:
    for item in gauge_items().values():
        if item.kind is ItemKind.READING:
            assert item.instrument in instruments(), item.name
            assert (
                instruments()[item.instrument].dimension is item.dimension
                or item.name == "coolant_thermometer"
            )
            assert item.tolerance > 0
            assert item.larger
            assert item.source
            assert item.measured is None or Measured(item.measured)


def test_sheet_is_judged(tmp_path: Path) -> None:
    text = HEAD + ROD + "rod_travel,thou,100,100,101,100\nidle_vacuum,kPa,,66,67,66\n"
    found = judgements(sheet(tmp_path, text))
    assert found["rod_rich_gauge"].verdict is Verdict.OUT
    assert found["rod_travel"].verdict is Verdict.IN
    assert "idle_vacuum" not in found
