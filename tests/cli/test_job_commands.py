"""The job commands, in this process: what they print, what they refuse, what they keep."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from dwellwright.cli.choices import Place
from dwellwright.evidence.observation import Regime

GAS = "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.74,14.3,0.67,275\n2500,0.80,14.5,0.61,290\n"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def job(run: Run) -> str:
    words = ("it hunts", "--car", "a tan wagon", "--owner", "an owner", "--sheet", "two-barrel-v6")
    assert run("job", "new", *words)[0] == 0
    return "1"


@pytest.fixture
def gas(tmp_path: Path) -> Path:
    path = tmp_path / "gas.csv"
    path.write_text(GAS, encoding="utf-8")
    return path


def test_a_file_is_added_and_shown(run: Run, job: str, gas: Path) -> None:
    code, printed, _ = run("job", "add", job, gas)
    assert code == 0
    assert "gas.csv: added to job 1, 10 readings (as found)." in printed
    assert "is in job 1 already" in run("job", "add", job, gas)[1]
    shown = run("job", "show", job)[1]
    for words in ("a tan wagon", "it hunts", "gas.csv", "lambda from the gas", "Stage: evidence"):
        assert words in shown


def test_one_bad_file_is_refused_and_the_job_stays(run: Run, job: str, tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_bytes(b"")
    code, printed, message = run("job", "add", job, bad)
    assert (code, printed) == (2, "")
    assert message.startswith("dwellwright: the file is empty (bad.csv)")
    assert "Stage: arrival" in run("job", "show", job)[1]


def test_reading_undo_and_history(run: Run, job: str) -> None:
    said = run("job", "reading", job, "dwell", "deg", "18", "20", "--regime", "cruise")[1]
    assert said.startswith("dwell (six-cylinder scale): 19.0 deg (16.8 to 21.2 deg), as found.")
    assert run("job", "undo", job)[1].startswith("Taken back: dwell")
    code, _, message = run("job", "undo", job)
    assert (code, message) == (2, "dwellwright: there is no typed reading to take back (job 1)\n")
    history = run("job", "show", job, "--history")[1]
    for words in ("job opened", "reading added", "reading withdrawn", "tester"):
        assert words in history


def test_a_reading_with_a_wrong_unit_is_one_line(run: Run, job: str) -> None:
    code, _, message = run("job", "reading", job, "dwell", "furlong", "18")
    assert code == 2
    assert message.startswith("dwellwright: unknown unit (dwell)")
    assert message.count("\n") == 1


def test_steps_follow_the_sequence(run: Run, job: str) -> None:
    first = run("job", "bench", job)[1]
    assert "Next: Solenoid travel: lean stop" in first
    words = (
        "--unit",
        "thou",
        "--found",
        "82",
        "--left",
        "70",
        "--instrument",
        "dial_indicator",
        "--turns",
        "0.375",
    )
    assert run("job", "step", job, "lean_stop", *words)[0] == 0
    later = run("job", "bench", job)[1]
    assert "Next: Solenoid travel: rich stop" in later
    assert run("job", "step", job, "safe", "--on-car", "--passed", "--note", "hoses good")[0] == 0
    assert "Next: Warm up fully" in run("job", "car", job)[1]
    assert "+0.375 turns" in run("job", "show", job)[1]


def test_everything_is_exported_as_json(
    run: Run, job: str, gas: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run("job", "add", job, gas)
    facts = json.loads(run("job", "export", job)[1])
    assert facts["job"]["complaint"] == "it hunts"
    assert {one["unit"] for one in facts["readings"]} == {"%", "ppm", "1"}
    assert facts["history"][0]["who"] == "tester"


def test_prove_and_handover(run: Run, job: str, gas: Path, tmp_path: Path) -> None:
    run("job", "add", job, gas)
    proof = run("prove", job)[1]
    assert proof.startswith("Job 1: not yet shown (as found)")
    assert "lambda by gas at hot idle" in proof
    made = run("handover", job, "--folder", tmp_path / "out", "--shop-name", "A shop")[1]
    assert made.endswith("handover-job-1.pdf")
    assert (tmp_path / "out" / "handover-job-1.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    "command", [("job", "show"), ("job", "bench"), ("prove",), ("handover",), ("job", "export")]
)
def test_a_job_that_is_not_there_is_said(run: Run, command: tuple[str, ...]) -> None:
    code, _, message = run(*command, "7")
    assert code == 2
    assert message.startswith("dwellwright: no such job; got job 7")


def test_read_prints_and_gives_json(run: Run, gas: Path) -> None:
    assert "lambda from the gas 0.998" in run("read", gas)[1]
    facts = json.loads(run("read", gas, "--json")[1])
    assert facts["kind"] == "gas"
    assert [one["regime"] for one in facts["readings"] if one["measured"] == "gas_lambda"] == ["idle", "3000"]


def test_turns_and_predict_without_a_job(run: Run) -> None:
    assert (
        "turn 3/8 turn clockwise, leaner"
        in run("turns", "two-barrel-v6", "lean_stop", "thou", "82", "83", "82")[1]
    )
    facts = json.loads(run("predict", "two-barrel-v6", "--off", "altitude=1500m", "--json")[1])
    assert set(facts["points"]) == {"idle", "3000", "cruise"}
    assert facts["changes"] == ["altitude=1500m"]


def test_an_interruption_is_one_line_and_130(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("dwellwright.cli.run.app", interrupted)
    assert run("job", "list") == (130, "", "dwellwright: interrupted\n")


def test_a_screw_is_led_on_the_car(run: Run, job: str) -> None:
    assert "Read the dwell." in run("adjust", job)[1]
    said = run("adjust", job, "44", "44.5")[1]
    assert "Turn each idle needle" in said
    assert "clockwise, leaner" in said
    said = run("adjust", job, "30", "--turned", "0.625", "--feels", "0")[1]
    assert "Read the dwell again." in said
    assert "See whether it holds still" in said
    said = run("adjust", job, "30.2", "--feels", "0")[1]
    assert "Done." in said
    assert "0.625 clockwise" in said
    code, _, message = run("adjust", job, "30", "--screw", "attic")
    assert code == 2
    assert "no such screw to set on the car" in message


def test_every_place_of_the_operating_range_can_be_named() -> None:
    assert {one.value for one in Place} == {one.value for one in Regime}
