"""Makeshift ways: budgets by hand, and verdicts that follow tolerance and thread."""

from math import sqrt

import pytest
from scipy.stats import norm

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.catalogue.instruments import instruments
from dwellwright.catalogue.makeshift_methods import Conversion, makeshift_setting, makeshift_settings
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.makeshift import (
    BenchSetting,
    chance_words,
    method_budget,
    method_verdict,
    method_verdicts,
)
from dwellwright.evidence.gauge.turns import thread_of

THOU = 0.0254e-3
THREAD = thread_of("10-32")
LEAN = BenchSetting(85 * THOU, 5 * THOU, THREAD)


def test_depth_micrometer_budget_by_hand() -> None:
    # two readings, mean of 3: repeat .015*sqrt(2/3)=.012247; step .01/sqrt12*sqrt2=.004082;
    # limit .01/sqrt3*sqrt2=.008165; gasket .03/sqrt3=.017321; root of squares .023094 mm
    budget = method_budget(makeshift_setting("lean_stop").methods["depth_micrometer"], LEAN)
    assert budget.uncertainty == pytest.approx(0.023094e-3, rel=1e-4)


def test_counted_turns_go_through_the_pitch() -> None:
    # turns: repeat .06/sqrt3, step .125/sqrt12, limit .05/sqrt3, touch .25/sqrt3, slack .06/sqrt3; times .79375 mm;
    # and .25/sqrt3 mm of height that differs from unit to unit
    turns = sqrt(0.06**2 / 3 + 0.125**2 / 12 + 0.05**2 / 3 + 0.25**2 / 3 + 0.06**2 / 3)
    expected = sqrt((turns * 0.79375) ** 2 + 0.25**2 / 3) * 1e-3
    budget = method_budget(makeshift_setting("lean_stop").methods["counted_turns"], LEAN)
    assert budget.uncertainty == pytest.approx(expected, rel=1e-9)


def test_wrong_probability_by_hand() -> None:
    # normal: budget with the hand's 1/32 turn (0.0248 mm) beside it, tolerance 0.127 mm, both sides
    verdict = method_verdict(makeshift_setting("lean_stop").methods["depth_micrometer"], LEAN)
    total = sqrt(0.023094**2 + (0.79375 / 32) ** 2)
    assert verdict.wrong == pytest.approx(2 * float(norm.sf(0.127 / total)), abs=2e-4)
    assert verdict.good_enough
    assert "good enough for this tolerance" in verdict.words


def test_counting_and_eyeballing_the_stops_are_not_good_enough() -> None:
    found = {one.method.name: one for one in method_verdicts(makeshift_setting("lean_stop"), LEAN)}
    assert not found["counted_turns"].good_enough
    assert not found["eye"].good_enough
    assert found["eye"].wrong > found["counted_turns"].wrong > found["depth_micrometer"].wrong
    assert "not good enough" in found["eye"].words


def test_wider_tolerance_makes_every_way_surer() -> None:
    ways = makeshift_setting("choke_pull_off_gap")
    tight = {v.method.name: v.wrong for v in method_verdicts(ways, BenchSetting(4e-3, 0.1e-3))}
    wide = {v.method.name: v.wrong for v in method_verdicts(ways, BenchSetting(4e-3, 1.0e-3))}
    assert all(wide[name] < tight[name] for name in tight)


def test_more_leaves_more_doubt() -> None:
    way = makeshift_setting("rod_travel").methods["feeler_stack"]
    thin = method_budget(way, BenchSetting(0.7e-3, 0.127e-3)).uncertainty
    thick = method_budget(way, BenchSetting(3.1e-3, 0.127e-3)).uncertainty
    assert thick > thin


def test_lever_scales_the_float() -> None:
    way = makeshift_setting("float_height").methods["caliper"]
    plain = method_budget(way, BenchSetting(10e-3, 0.8e-3)).uncertainty
    half = method_budget(way, BenchSetting(10e-3, 0.8e-3, lever_ratio=0.5)).uncertainty
    assert half == pytest.approx(plain / 2)


def test_divider_by_hand() -> None:
    # 0.52 V of 5 V: slope 5/5000 V/ohm; parts: repeat .15*sqrt(2/3), step .1/sqrt12*sqrt2, limit .3/sqrt3*sqrt2,
    # relative .008/sqrt3*520 ohm*sqrt2 all times .001; supply .1/sqrt3*.104; closing .01/sqrt3
    ohms = 0.15**2 * 2 / 3 + 0.1**2 / 12 * 2 + 0.3**2 / 3 * 2 + (0.008 * 520) ** 2 / 3 * 2
    expected = sqrt(ohms * 1e-6 + (0.1 * 0.104) ** 2 / 3 + 0.01**2 / 3)
    budget = method_budget(makeshift_setting("throttle_sensor").methods["ohmmeter"], BenchSetting(0.52, 0.05))
    assert budget.uncertainty == pytest.approx(expected, rel=1e-9)


def test_needle_travel_becomes_turns() -> None:
    way = makeshift_setting("idle_needle").methods["depth_micrometer"]
    setting = BenchSetting(4.0, 0.25, THREAD, in_turns=True)
    # 0.01 mm step over 0.79375 mm pitch, twice
    step = next(part for part in method_budget(way, setting).components if part.name == "resolution")
    assert step.contribution == pytest.approx(0.01 / sqrt(12) * sqrt(2) / 0.79375)


def test_ways_that_need_a_thread_say_so() -> None:
    bare = BenchSetting(85 * THOU, 5 * THOU)
    with pytest.raises(InputFault, match="needs the screw's thread"):
        method_budget(makeshift_setting("lean_stop").methods["counted_turns"], bare)
    assert "counted_turns" not in {
        v.method.name for v in method_verdicts(makeshift_setting("lean_stop"), bare)
    }


def test_shipped_ways_are_sound() -> None:
    for setting in makeshift_settings().values():
        assert setting.item in gauge_items(), setting.name
        assert len(setting.methods) >= 2, setting.name
        for method in setting.methods.values():
            assert method.instrument in instruments(), method.name
            assert method.steps, method.name
            assert method.caution, method.name
            assert method.source == "common practice, no source"
            if method.conversion is Conversion.DIVIDER:
                assert method.whole > 0


def test_chances_in_words() -> None:
    assert chance_words(1e-9) == "fewer than 1 in 10 000"
    assert chance_words(0.013) == "about 1 in 77"


def test_refusals() -> None:
    with pytest.raises(InputFault, match="unknown setting"):
        makeshift_setting("horn")
    with pytest.raises(ValueError, match="must be positive"):
        BenchSetting(1e-3, 0.0)
