"""Ways for a sheet's settings: which, in whose unit, with the unit's own geometry; refusals."""

from __future__ import annotations

from math import ceil

import numpy as np
import pytest
from numpy.typing import NDArray

from dwellwright.catalogue.instruments import instrument
from dwellwright.catalogue.makeshift_methods import Conversion, MakeshiftMethod, makeshift_settings
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype_texts, parsed_sheet
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.makeshift import BenchSetting, method_verdicts
from dwellwright.records.shop import Shop
from dwellwright.service.known_sheets import sheet_or_job
from dwellwright.service.makeshift import WAYS, bench_setting, setting_ways, sheet_ways
from dwellwright.units import Dimension


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


DRAWS = 100_000
TOLD = 0.025
"""How far a simulated chance may lie from the one told: the budget takes every error for a bell curve, while many are
flat, and averages no reading step away. Where most settings are wrong, 8 % of that."""


def simulated_wrong(method: MakeshiftMethod, target: BenchSetting, rng: np.random.Generator) -> float:
    """Share of settings outside their tolerance when a reading is brought to the nominal, error by error.

    Supplement 1 to the GUM (JCGM 101:2008): every input is drawn from its own distribution and goes through the
    measurement itself, not through its sensitivities.
    """
    tool = instrument(method.instrument)

    def flat(half: float) -> NDArray[np.float64]:
        return rng.uniform(-half, half, DRAWS)

    def read(true: float) -> NDArray[np.float64]:
        spread = tool.repeatability * rng.standard_t(
            tool.repeatability_freedom, (target.repeats, DRAWS)
        ).mean(axis=0)
        return true * (1 + flat(tool.limit_relative)) + flat(tool.limit) + flat(tool.resolution / 2) + spread

    pitch = target.thread.pitch if target.thread else float("nan")
    nominal, datum = target.nominal, 7e-3
    if method.conversion is Conversion.DIFFERENCE:
        found = read(datum + nominal) - read(datum)
    elif method.conversion is Conversion.STACK:
        count = ceil(nominal / 0.8e-3)
        found = sum((read(nominal / count) for _ in range(count)), np.zeros(DRAWS))
    elif method.conversion is Conversion.TURNS:
        found = read(nominal / pitch) * pitch
    elif method.conversion is Conversion.TRAVEL:
        found = (read(datum + nominal * pitch) - read(datum)) / pitch
    elif method.conversion is Conversion.DIVIDER:
        reference = method.reference + flat(method.reference_half_width)
        found = read(nominal / method.reference * method.whole) / read(method.whole) * reference
    else:
        found = read(nominal)
    for extra in method.extra:
        by_thread = extra.dimension is Dimension.TURNS and method.conversion is Conversion.TURNS
        found = found + flat(extra.half_width) * (pitch if by_thread else 1.0)
    if target.thread is not None:
        found = found + rng.normal(0.0, (1.0 if target.in_turns else pitch) / 32, DRAWS)
    return float(np.mean(np.abs(found - nominal) > target.tolerance))


@pytest.mark.parametrize("name", sorted(archetype_texts()))
def test_chances_of_a_wrong_setting_agree_with_a_simulation_of_every_way(name: str) -> None:
    sheet, rng, seen = parsed_sheet(archetype_texts()[name], name), np.random.default_rng(20), 0
    for key in sheet.settings:
        target = bench_setting(sheet, key) if key in WAYS else None
        if target is None:
            continue
        for told in method_verdicts(makeshift_settings()[WAYS[key]], target):
            wrong = simulated_wrong(told.method, target, rng)
            assert told.wrong == pytest.approx(wrong, abs=TOLD, rel=0.08), (key, told.method.name)
            if abs(wrong - 0.05) > TOLD:
                assert told.good_enough is (wrong < 0.05), (key, told.method.name)
            seen += 1
    assert seen > 25
