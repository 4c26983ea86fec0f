"""The tutorial works: its files are written and its commands run, in order, as a reader would."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest
from tools.pages import ROOT

from dwellwright.cli.run import exit_code

PAGE = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SAVED = re.compile(r"save (?:this|them) as `([^`]+)`", re.IGNORECASE)


def followed(page: str, folder: Path, out: pytest.CaptureFixture[str]) -> list[tuple[str, str]]:
    """Every command of a page with what it printed; files are written where the page says to save them."""
    told: list[tuple[str, str]] = []
    place = 0
    for block in BLOCK.finditer(page):
        names = SAVED.findall(page[place : block.start()])
        place = block.end()
        if block[1]:
            (name,) = names
            (folder / name).write_text(block[2], encoding="utf-8")
            continue
        for line in block[2].splitlines():
            if line.startswith("dwellwright "):
                code = exit_code(shlex.split(line)[1:])
                printed = out.readouterr()
                assert code == 0, f"{line}\n{printed.err}"
                told.append((line, printed.out))
    return told


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DWELLWRIGHT_SHOP", str(tmp_path / "practice-shop"))
    return tmp_path


def test_the_tutorial_can_be_followed(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = followed(PAGE, shop, capsys)
    printed = dict(told)
    assert len(told) >= 15
    gas = printed["dwellwright read gas.csv"]
    assert re.search(r"hot idle.*?lambda from the gas +0\.9[45]\d +0\.9\d\d to 0\.9\d\d", gas, re.DOTALL), gas
    first, second = (text for line, text in told if line == "dwellwright job bench 1")
    assert re.search(r"lean_stop +out", first)
    assert re.search(r"clockwise", first)
    assert re.search(r"float_level +in ", first)
    assert not re.search(r"lean_stop +out", second)
    assert "do again" in second


def test_the_record_at_the_end_holds_the_whole_story(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = followed(PAGE, shop, capsys)
    facts = json.loads(next(text for line, text in told if line == "dwellwright job export 1"))
    assert facts["job"]["complaint"] == "Lamp on, thirsty, hunts at idle"
    history = next(text for line, text in told if "--history" in line)
    assert "0.21" in history, "the slip of 13 deg, as a duty, stays on record"


def test_a_page_with_a_wrong_command_fails(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(AssertionError, match="dwellwright job show 99"):
        followed("```\ndwellwright job show 99\n```\n", shop, capsys)
