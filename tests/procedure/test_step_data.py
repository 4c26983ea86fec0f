"""The sequences as data: order, refusals, and that every name in them means something."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.catalogue.sheet_file import archetype, archetype_texts
from dwellwright.catalogue.steps import Sequence, dependency_order, hazards, parsed_steps, step_plans
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Regime

STEP = """
[[step]]
key = "{key}"
title = "t"
why = "w"
needs = ["n"]
instructions = ["i"]
minutes = 1
{more}
"""


def text(*steps: tuple[str, str]) -> str:
    return "".join(STEP.format(key=key, more=more) for key, more in steps)


@pytest.mark.parametrize("sequence", list(Sequence))
def test_every_prerequisite_comes_first(sequence: Sequence) -> None:
    seen: set[str] = set()
    for plan in step_plans(sequence):
        assert seen.issuperset(plan.depends_on), plan.key
        seen.add(plan.key)


def test_bench_begins_with_solenoid_travel_and_ends_with_leaks() -> None:
    """Order asked for in the design: nothing else can make up for the travel."""
    keys = [plan.key for plan in step_plans(Sequence.BENCH)]
    assert keys[:3] == ["lean_stop", "rich_stop", "travel"]
    assert keys[-1] == "leak_check"
    order = ["float_level", "idle_bleed", "idle_needle", "choke", "pull_off", "fast_idle", "throttle_sensor"]
    assert [key for key in keys if key in order] == order


@pytest.mark.parametrize("sequence", list(Sequence))
def test_names_in_the_data_exist(sequence: Sequence) -> None:
    for plan in step_plans(sequence):
        assert plan.reading is None or plan.reading in [one.value for one in Measured], plan.key
        assert set(plan.regimes) <= {one.value for one in Regime}, plan.key
        assert set(plan.hazards) <= set(hazards()), plan.key
        root, _, name = (plan.wanted or "").partition(".")
        if root and root != "settings":
            assert hasattr(getattr(archetype(next(iter(archetype_texts()))), root), name), plan.key


def test_every_setting_of_an_archetype_but_fuel_pressure_has_a_step() -> None:
    used = {plan.wanted for sequence in Sequence for plan in step_plans(sequence)}
    for name in archetype_texts():
        for setting in archetype(name).settings:
            assert f"settings.{setting}" in used or setting == "fuel_pressure", setting


@given(st.permutations(range(7)), st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), max_size=15))
def test_any_graph_without_a_ring_is_ordered_whatever_the_file_order(
    order: list[int], edges: list[tuple[int, int]]
) -> None:
    """Edges from lower to higher number cannot make a ring, so an order must be found and must hold."""
    needs = {i: sorted({f"k{a}" for a, b in edges if b == i and a < b}) for i in range(7)}
    plans = parsed_steps(text(*((f"k{i}", f"depends_on = {needs[i]}".replace("'", '"')) for i in order)))
    seen: set[str] = set()
    for plan in plans:
        assert seen.issuperset(plan.depends_on)
        seen.add(plan.key)
    assert len(plans) == 7
    assert dependency_order(plans) == plans


def test_a_ring_is_refused_and_shown() -> None:
    rings = text(
        ("a", 'depends_on = ["c"]'), ("b", 'depends_on = ["a"]'), ("c", 'depends_on = ["b"]'), ("d", "")
    )
    with pytest.raises(InputFault, match=r"wait for each other.*a -> c -> b -> a"):
        parsed_steps(rings)


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (text(("a", 'depends_on = ["z"]')), "depends on one that does not exist.*step a.*'z'"),
        (text(("a", ""), ("a", "")), "two steps have the same key"),
        (text(("a", 'hazards = ["dragons"]')), "unknown hazard.*'dragons'"),
        (text(("a", "colour = 1")), "Extra inputs are not permitted.*step 1, colour"),
        (text(("a", 'wanted = "sheet.x"')), "String should match pattern.*wanted"),
        (text(("a", "minutes2 = 0"),), "Extra inputs"),
        (text(("A b", "")), "step 1, key"),
        (text(("a", "")).replace("minutes = 1", "minutes = nan"), "finite number"),
        ("step = 3", "holds no steps"),
        ("", "holds no steps"),
        ("[[step]", "not TOML"),
        ("step = [1]", "step is wrong"),
        (
            text(("a", 'wanted="criteria.idle_dwell"\nbound={value=1,unit="V",tolerance=0,source="x"}')),
            "not both",
        ),
    ],
)  # fmt: skip
def test_bad_data_is_refused_with_its_place(bad: str, words: str) -> None:
    with pytest.raises(InputFault, match=words):
        parsed_steps(bad)
