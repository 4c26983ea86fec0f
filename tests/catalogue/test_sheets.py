"""Spec sheets: every archetype is a good sheet, and a bad one is told apart to the line."""

import tomllib

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.catalogue.sheet_file import (
    archetype,
    archetype_for,
    archetype_texts,
    line_of,
    loaded_sheet,
    parsed_sheet,
    sheet_findings,
    sheet_schema,
)
from dwellwright.errors import InputFault

TEXT = archetype_texts()["two-barrel-v6"]
JET = "jet_diameter = { value = 2.05"


@pytest.mark.parametrize("name", sorted(archetype_texts()))
def test_every_archetype_is_a_good_sheet_marked_invented(name: str) -> None:
    assert sheet_findings(archetype_texts()[name]) == []
    assert archetype(name).invented
    jsonschema.validate(tomllib.loads(archetype_texts()[name]), sheet_schema())


@pytest.mark.parametrize(
    ("old", "new", "line_holds", "says"),
    [
        (f'{JET}, unit = "mm"', f'{JET}, unit = "mmm"', "jet_diameter", "unit must be one of"),
        (JET, "jet_diameter = { value = 0.2", "rod_diameter_at_lean_stop", "the rod must fit its jet"),
        (JET, "jet_diameter = { value = -2.05", "jet_diameter", "must be above zero"),
        (JET, "jet_diameter = { value = nan", "jet_diameter", "finite"),
        ('[settings.lean_stop]', '[settings.other]', "", "settings must include lean_stop"),
        ("jet_diameter =", "jett_diameter =", "jett_diameter", "Extra inputs"),
        ("primary_barrels = 2", 'primary_barrels = "two"', "primary_barrels", "valid integer"),
        ("wanted = { value = 70,", "wanted = { value = 270,", "", "rich_stop must be above lean_stop"),
        ("clockwise = \"lowers\"", "clockwise = \"sideways\"", "clockwise", "raises"),
    ],
)  # fmt: skip
def test_a_bad_line_is_named(old: str, new: str, line_holds: str, says: str) -> None:
    assert old in TEXT
    text = TEXT.replace(old, new, 1)
    findings = sheet_findings(text)
    told = [f for f in findings if says in f.message]
    assert told, findings
    if line_holds:
        assert text.splitlines()[told[0].line - 1].startswith(line_holds)


def test_broken_toml_is_named_by_line() -> None:
    (finding,) = sheet_findings(TEXT.replace("primary_barrels = 2", "primary_barrels = ", 1))
    assert TEXT.splitlines()[finding.line - 1].startswith("primary_barrels")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\xff\xfe\x00bad", "not UTF-8"),
        (b"x" * 1_000_001, "too large"),
        (b"a = 1", "cannot be used"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused(tmp_path, content: bytes, says: str) -> None:
    file = tmp_path / "sheet.toml"
    file.write_bytes(content)
    with pytest.raises(InputFault, match=says):
        loaded_sheet(file)


def test_a_missing_file_is_refused(tmp_path) -> None:
    with pytest.raises(InputFault, match="cannot be read"):
        loaded_sheet(tmp_path / "none.toml")


@given(st.text(max_size=300))
def test_any_text_gives_findings_or_a_sheet_never_a_crash(text: str) -> None:
    findings = sheet_findings(text)
    assert findings, "no random text is a sheet"
    with pytest.raises(InputFault, match="cannot be used"):
        parsed_sheet(text)


def test_archetype_is_chosen_by_cylinders() -> None:
    assert archetype(archetype_for(8)).engine.cylinders == 8
    assert archetype(archetype_for(5)).engine.cylinders in (4, 6)


def test_line_of_a_key_that_is_nowhere_is_the_table_above_it() -> None:
    assert line_of("[a]\nb = 1\n", ("a", "c")) == 1
    assert line_of("[a]\nb = 1\n", ("z",)) == 0
