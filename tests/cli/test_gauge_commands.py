"""The gauge commands, in this process: what they print and what they refuse."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., tuple[int, str, str]]


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


@pytest.fixture
def job(run: Run) -> str:
    assert run("job", "new", "lamp on", "--car", "wagon", "--owner", "A.", "--sheet", "two-barrel-v6")[0] == 0
    return "1"


def test_a_gauge_is_drawn_made_entered_and_used(run: Run, job: str, tmp_path: Path) -> None:
    code, out, _ = run("gauge", "draw", job, "lean_stop", tmp_path / "stick.svg")
    assert code == 0
    assert "short 1.712, long 1.844 mm, each ± 0.005; accepts 87% of the tolerance" in out
    assert (tmp_path / "stick.svg").read_text(encoding="utf-8").startswith("<svg")
    card = ("gauge", "card", "stick", job, "lean_stop", "mm", "1.720", "1.838", "--doubt", "0.003")
    assert "accepts 1.720 to 1.838 mm" in run(*card)[1]
    assert "stick" in run("gauge", "cards")[1]
    out = run("job", "reading", job, "rod_lean_gauge", "thou", "67.4", "--instrument", "gauge:stick")[1]
    assert "lean stop height: 67.7 thou" in out
    out = run("gauge", "fit", job, "stick", "between")[1]
    assert "lean stop height: 70.0 thou (67.3 to 72.7 thou), wanted 70.0 thou" in out
    assert "off the list" in run("gauge", "cards", "--remove", "stick")[1]
    assert "No gauges" in run("gauge", "cards")[1]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("draw", "1", "lean_stop", "stick.step"), "no such form of a drawing; wanted svg, pdf, png, dxf"),
        (("draw", "1", "idle_needle", "stick.svg"), "no gauge can be made"),
        (("card", "a", "1", "lean_stop", "mm", "1.838", "1.72", "--doubt", "0.003"), "not shorter"),
        (("fit", "1", "nobody", "between"), "no such gauge"),
        (("cards", "--remove", "nobody"), "no such gauge"),
    ],
)
def test_gauge_commands_refuse(run: Run, job: str, words: tuple[str, ...], says: str) -> None:
    code, _, err = run("gauge", *words)
    assert code == 2
    assert says in err
    assert "Traceback" not in err


def test_a_calibration_is_kept_used_and_taken_back(run: Run, job: str, tmp_path: Path) -> None:
    table = tmp_path / "sizes.csv"
    table.write_text("truth,reading,unit\n40,41.5,thou\n60,61.4,thou\n80,81.6,thou\n100,101.5,thou\n")
    keep = ("gauge", "calibration", table, "--keep", "caliper:C-12", "--day", "2026-03-01")
    code, _, err = run(*keep)
    assert code == 2
    assert "standard uncertainty in thou" in err
    out = run(*keep, "--doubt", "0.02")[1]
    assert "Kept for our caliper, depth rod or jaws C-12" in out
    read = run("job", "reading", job, "rod_lean_gauge", "thou", "71.5", "--instrument", "caliper:C-12")[1]
    assert "70.0 thou" in read
    assert "read 71.5 thou with our caliper, depth rod or jaws C-12, corrected by -1.5 thou" in read
    (one,) = json.loads(run("gauge", "calibrations", "--json")[1])["instruments"]
    assert (one["tool"], one["calibrated"], one["stands"]) == ("caliper:C-12", "2026-03-01", "no end named")
    assert "Taken back: caliper:C-12, 2026-03-01" in run("gauge", "calibrations", "--undo", "caliper:C-12")[1]
    assert "sizes.csv" in run("gauge", "calibrations", "--history")[1]
    assert "70.0 thou" in run("job", "show", job)[1]


def test_a_file_is_read_with_the_columns_that_the_shop_remembers(run: Run, tmp_path: Path) -> None:
    log = tmp_path / "odd.csv"
    rows = "".join(
        f"{t / 10:.1f},{24 + 4 * (t // 10 % 2)},800,{120 + 600 * (t // 10 % 2)}\n" for t in range(900)
    )
    log.write_text("A1,A2,A3,A4\n" + rows)
    assert run("read", log)[0] == 2
    names = ("A1:s", "A2:deg", "A3:rpm", "A4:mV")
    channels = ("time", "duty", "engine_speed", "sensor_voltage")
    words = [word for pair in zip(channels, names, strict=True) for word in ("--name", "=".join(pair))]
    assert run("evidence", "columns", log, *words)[0] == 0
    code, out, _ = run("read", log, "--json")
    assert code == 0
    assert "duty" in {one["measured"] for one in json.loads(out)["readings"]}
    assert run("evidence", "plot", log, tmp_path / "odd.svg")[0] == 0
