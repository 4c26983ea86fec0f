"""Geometry that cannot be built is refused where the sheet is read, with its line."""

import pytest

from dwellwright.catalogue.sheet_file import archetype_texts, parsed_sheet
from dwellwright.errors import InputFault

TEXT = archetype_texts()["two-barrel-v6"]


@pytest.mark.parametrize(
    ("size", "old", "new", "words"),
    [
        ("rod_diameter_at_lean_stop", "value = 1.443", "value = 2.443", "the rod must fit its jet"),
        ("slot_exposed_at_idle", "value = 0.4", "value = 4", "no more slot can be exposed"),
        ("power_opens_below_vacuum", "value = 17", "value = 30", "opens at less vacuum"),
    ],
)
def test_an_impossible_size_is_refused_with_its_line(size: str, old: str, new: str, words: str) -> None:
    lines = TEXT.splitlines()
    number = next(k for k, line in enumerate(lines, 1) if line.startswith(f"{size} ="))
    lines[number - 1] = lines[number - 1].replace(old, new)
    with pytest.raises(InputFault, match=rf"line {number}, .*{words}"):
        parsed_sheet("\n".join(lines))


def test_a_rich_stop_below_the_lean_stop_is_refused() -> None:
    text = TEXT.replace('wanted = { value = 170, unit = "thou"', 'wanted = { value = 60, unit = "thou"')
    with pytest.raises(InputFault, match=r"line \d+, .*rich_stop must be above lean_stop"):
        parsed_sheet(text)


def test_a_negative_bore_is_refused() -> None:
    text = TEXT.replace("nozzle_diameter = { value = 3,", "nozzle_diameter = { value = -3,")
    with pytest.raises(InputFault, match=r"line \d+, geometry.nozzle_diameter"):
        parsed_sheet(text)
