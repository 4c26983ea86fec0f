"""The gauge commands, in this process: what they print and what they refuse."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from dwellwright.cli.run import exit_code

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """One call of the program in a shop of its own: exit code, output with blanks folded, messages."""

    def call(*words: str | Path) -> tuple[int, str, str]:
        capsys.readouterr()
        code = exit_code(["--shop", str(tmp_path / "shop"), "--who", "tester", *map(str, words)])
        printed = capsys.readouterr()
        return code, " ".join(printed.out.split()), printed.err

    return call


def test_ways_name_a_verdict_for_every_setting(run: Run) -> None:
    code, out, _ = run("gauge", "ways", "two-barrel-v6")
    assert code == 0
    assert "lean_stop: 70 ± 3 thou (1.778 ± 0.076 mm)" in out
    assert "by eye ± 31 thou not good enough about 1 in 1.2" in out
    assert out.count("settings that would be wrong") == 10


def test_one_setting_is_told_with_steps_budget_and_caution(run: Run) -> None:
    code, out, _ = run("gauge", "ways", "two-barrel-v6", "lean_stop")
    assert code == 0
    assert "! Press with a finger only" in out
    assert "budget, one standard uncertainty each: calibration" in out
    facts = json.loads(run("gauge", "ways", "two-barrel-v6", "lean_stop", "--json")[1])
    assert facts["settings"][0]["ways"][0]["good_enough"] is True


@pytest.mark.parametrize(
    ("words", "says"),
    [(("two-barrel-v6", "nothing"), "no such setting"), (("9",), "no such job"), (("no-sheet",), "no such spec sheet"),
     (("two-barrel-v6", "--repeats", "0"), "cannot be averaged")],
)  # fmt: skip
def test_ways_refuse_what_there_is_not(run: Run, words: tuple[str, ...], says: str) -> None:
    code, out, err = run("gauge", "ways", *words)
    assert (code, out) == (2, "")
    assert says in err
