"""Ways for a sheet's settings: which, in whose unit, with the unit's own geometry; refusals."""

from __future__ import annotations

import pytest

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype_texts, parsed_sheet
from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service.known_sheets import sheet_or_job
from dwellwright.service.makeshift import WAYS, bench_setting, setting_ways, sheet_ways


@pytest.fixture(scope="module")
def sheet() -> SpecSheet:
    return parsed_sheet(archetype_texts()["two-barrel-v6"], "two-barrel-v6")


def with_setting(sheet: SpecSheet, key: str, **wanted: object) -> SpecSheet:
    """The sheet with one figure changed."""
    setting = sheet.settings[key]
    changed = setting.model_copy(update={"wanted": setting.wanted.model_copy(update=wanted)})
    return sheet.model_copy(update={"settings": {**sheet.settings, key: changed}})


@pytest.mark.parametrize("name", sorted(archetype_texts()))
def test_every_bench_setting_of_every_archetype_has_a_good_way_and_its_words(name: str) -> None:
    found = sheet_ways(parsed_sheet(archetype_texts()[name], name))
    assert {one.key for one in found} == set(WAYS)
    for one in found:
        assert one.best is not None, one.key
        assert [way.wrong for way in one.ways] == sorted(way.wrong for way in one.ways)
        for way in one.ways:
            assert all((way.label, way.doubt, way.chance, way.conversion, way.budget, way.steps, way.caution))


def test_turns_go_through_the_thread_of_the_sheet(sheet: SpecSheet) -> None:
    # 32 threads an inch: 31.25 thou in a turn, 70 thou is 2.24 turns (closed form)
    way = next(one for one in setting_ways(sheet, "lean_stop").ways if one.name == "counted_turns")
    assert way.conversion == "turns x 31.25 thou in a turn of the screw: 70 thou is 2.24 turns"
    assert not way.good_enough


def test_travel_is_set_by_the_screw_of_the_rich_stop(sheet: SpecSheet) -> None:
    target = bench_setting(sheet, "rod_travel")
    assert target is not None
    assert target.thread is not None
    assert target.thread.pitch == pytest.approx(0.0254 / 32)


def test_the_divider_uses_the_supply(sheet: SpecSheet) -> None:
    way = next(one for one in setting_ways(sheet, "throttle_sensor_closed").ways if one.name == "ohmmeter")
    assert (
        way.conversion == "ohms of the wiper / ohms of the whole x 5 V: 0.52 V is a ratio of 0.104"
    )  # .52/5
    ways = setting_ways(sheet, "solenoid_resistance").ways
    found = next(one for one in ways if one.name == "voltmeter")
    # 22/10; budget of the resistor: .2/sqrt3 * 2.2 = .254 ohm (closed form)
    assert found.conversion.endswith("x 10 ohm: 22 ohm is a ratio of 2.2")
    assert ("reference", "0.25 ohm") in found.budget


def test_more_repeats_and_a_wider_tolerance_make_a_way_surer(sheet: SpecSheet) -> None:
    def caliper(one: SpecSheet, repeats: int) -> float:
        return next(
            way.wrong for way in setting_ways(one, "lean_stop", repeats).ways if way.name == "caliper"
        )

    assert caliper(sheet, 10) < caliper(sheet, 1)
    wide = with_setting(sheet, "lean_stop", tolerance=10.0)
    assert caliper(wide, 3) < 0.05 < caliper(sheet, 3)


def test_a_figure_without_tolerance_or_in_another_kind_of_unit_says_why_there_is_no_verdict(
    sheet: SpecSheet,
) -> None:
    bare = setting_ways(with_setting(sheet, "float_level", tolerance=0.0), "float_level")
    assert (bare.ways, bare.best) == ((), None)
    assert "no tolerance" in bare.note
    angle = setting_ways(with_setting(sheet, "choke_opening", unit="deg"), "choke_opening")
    assert angle.note == "the ways measure a length, the sheet gives deg"


def test_refusals(sheet: SpecSheet, shop: Shop) -> None:
    with pytest.raises(InputFault, match="no such setting on the bench; wanted lean_stop"):
        setting_ways(sheet, "fuel_pressure")
    with pytest.raises(InputFault, match="cannot be averaged"):
        sheet_ways(sheet, 0)
    with pytest.raises(InputFault, match="no such job"):
        sheet_or_job(shop, "99")


def test_a_job_stands_for_its_sheet(shop: Shop, job: int, sheet: SpecSheet) -> None:
    assert sheet_or_job(shop, str(job)) == sheet == sheet_or_job(shop, "two-barrel-v6")
