"""The evidence commands, in this process."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def gas(tmp_path: Path) -> Path:
    path = tmp_path / "gas.csv"
    path.write_text("condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.7,14.5,0.6,150\n", encoding="utf-8")
    return path


def test_gas_is_looked_at_and_drawn(run: Run, gas: Path, tmp_path: Path) -> None:
    code, out, _ = run("evidence", "gas", gas, "--factor", "12")
    assert code == 0
    assert "healthy" in out
    assert "not a legal test" in out
    code, out, _ = run("evidence", "plot", gas, tmp_path / "gas.svg")
    assert code == 0
    assert "lambda" in out
    assert (tmp_path / "gas.svg").read_bytes().startswith(b"<?xml")


def test_an_answer_is_written_down_listed_and_drawn(run: Run, tmp_path: Path) -> None:
    run("job", "new", "lamp on", "--car", "wagon", "--owner", "A.", "--sheet", "two-barrel-v6")
    hazard = run("evidence", "tests", "enrichment")[1]
    assert hazard.index("Propane explodes") < hazard.index("1. Hot engine")
    words = ("evidence", "response", "1", "enrichment", "--before", "30", "--during", "41")
    assert "change +11" in run(*words)[1]
    code, out, _ = run("evidence", "answers", "1", "--plot", tmp_path / "a.png")
    assert code == 0
    assert "30 -> 41 deg rises" in out
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("gas", "none.csv"), "cannot be read"),
        (("gas", "GAS", "--factor", "7"), "factor is not one known"),
        (("plot", "GAS", "x.bmp"), "no such form of a plot"),
        (("plot", "none.csv", "x.svg"), "cannot be read"),
        (("tests", "nothing"), "unknown test"),
        (("answers", "7"), "no such job"),
        (("response", "7", "enrichment", "--before", "30", "--during", "40"), "no such job"),
    ],
)
def test_evidence_commands_refuse(run: Run, gas: Path, words: tuple[str, ...], says: str) -> None:
    code, _, err = run("evidence", *(gas if word == "GAS" else word for word in words))
    assert code == 2
    assert says in err
