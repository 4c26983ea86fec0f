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
    assert len(told) >= 20
    gas = printed["dwellwright read gas.csv"]
    assert re.search(r"hot idle.*?lambda from the gas +0\.9[45]\d +0\.9\d\d to 0\.9\d\d", gas, re.DOTALL), gas
    predicted = next(text for line, text in told if line.startswith("dwellwright predict"))
    assert re.search(r"idle +(49|5[0-2])\.\d deg", predicted), predicted
    assert re.search(r"3000 +3[345]\.\d deg", predicted), predicted
    assert "handover" in printed["dwellwright handover 1"]
    assert next(iter(shop.glob("*.pdf"))).read_bytes().startswith(b"%PDF")


def test_the_bench_does_what_the_tutorial_says(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = followed(PAGE, shop, capsys)
    first, second = (text for line, text in told if line == "dwellwright job bench 1")
    for step, stands in {
        "lean_stop": "out",
        "float_level": "in",
        "idle_bleed": "in",
        "idle_needle": "out",
    }.items():
        assert re.search(rf"{step} +{stands} ", first), first
    assert "1/4 turn clockwise" in re.sub(r"\s+", " ", first)
    assert re.search(r"lean_stop +in ", second), second
    assert re.search(r"float_level +do again ", second), second
    coarse, fine = (text for line, text in told if line.startswith("dwellwright turns"))
    assert "cannot tell" in coarse
    assert re.search(r"thou\): in\b", fine), fine


def test_the_proof_does_what_the_tutorial_says(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    proof = dict(followed(PAGE, shop, capsys))["dwellwright prove 1"]
    for criterion, stands in {"hot idle": "met", "3000 rpm": "met", "cruise": "not shown"}.items():
        assert re.search(rf"dwell at {criterion} .*{stands}", proof), proof


def test_the_record_at_the_end_holds_the_whole_story(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = followed(PAGE, shop, capsys)
    facts = json.loads(next(text for line, text in told if line == "dwellwright job export 1"))
    assert facts["job"]["complaint"] == "Lamp on, thirsty, hunts at idle"
    history = next(text for line, text in told if "--history" in line)
    assert "0.21" in history, "the slip of 13 deg, as a duty, stays on record"


def test_a_page_with_a_wrong_command_fails(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(AssertionError, match="dwellwright job show 99"):
        followed("```\ndwellwright job show 99\n```\n", shop, capsys)
