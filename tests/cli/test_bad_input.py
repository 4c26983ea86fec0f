"""Broken input for every command that takes a file or a number: a plain message, exit 2, and nothing lost."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from dwellwright.cli.run import exit_code

Run = Callable[..., tuple[int, str, str]]
GAS = "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.7,14.5,0.6,150\n"

FILES: dict[str, bytes] = {
    "empty": b"",
    "blank": b" \n\n\t\n",
    "zeros": bytes(4096),
    "noise": bytes((97 * k + k * k // 7) % 256 for k in range(3000)),
    "words": "nothing to see here\u2028".encode(),
    "half-wav": b"RIFF\xff\xff\xff\xffWAVEfmt \x10\x00",
    "half-flac": b"fLaC\x00\x00\x00\x22",
    "half-parquet": b"PAR1" + bytes(40) + b"PAR1",
    "half-mdf": b"MDF     4.10    " + bytes(80),
    "zip": b"PK\x03\x04" + bytes(60),
    "long-line": b"x," * 50_000,
    "numbers-only": b"1,2,3\n4,5,6\n",
    "nan-log": b"time_s,rpm,dwell_deg\nnan,nan,nan\ninf,-inf,1e999\n",
    "latin": "Größe;°\n1;2\n".encode("latin-1"),
    "bad-gas": b"condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,x,14,1,100\n",
    "bad-bench": b"item,unit,spec,reading_1\nrod_lean_gauge,ell,1,2\n",
    "bad-study": b"part,hand,unit,r1,r2\n1,A,mm,x,\n",
    "bad-checks": b"truth,reading,unit\n1,1e400,mm\n",
    "deep": b"[" * 20_000,
}  # fmt: skip
"""Files that no command can use, by what is wrong with them."""

TAKES_A_FILE = {
    "read": ("read", "FILE"),
    "read-json": ("read", "FILE", "--json"),
    "job-add": ("job", "add", "1", "FILE"),
    "diagnose": ("diagnose", "FILE"),
    "sheet-check": ("sheet", "check", "FILE"),
    "sheet-import": ("sheet", "import", "FILE"),
    "sheet-show": ("sheet", "show", "FILE"),
    "job-new": ("job", "new", "lamp", "--car", "a", "--owner", "b", "--sheet", "FILE"),
    "turns": ("turns", "FILE", "lean_stop", "thou", "80"),
    "predict": ("predict", "FILE"),
    "ways": ("gauge", "ways", "FILE"),
    "draw": ("gauge", "draw", "FILE", "lean_stop", "out.svg"),
    "study": ("gauge", "study", "FILE"),
    "calibration": ("gauge", "calibration", "FILE"),
    "drift": ("gauge", "drift", "FILE", "--repeatability", "1"),
    "gas": ("evidence", "gas", "FILE"),
    "plot": ("evidence", "plot", "FILE", "out.png"),
    "columns": ("evidence", "columns", "FILE", "--name", "duty=x:%"),
}
"""Every command that reads a file."""

TAKES_A_NUMBER = {
    "reading": ("job", "reading", "1", "rod_lean_gauge", "thou", "NUMBER"),
    "wanted": ("job", "reading", "1", "rod_lean_gauge", "thou", "80", "--wanted", "NUMBER"),
    "step-found": ("job", "step", "1", "lean_stop", "--unit", "thou", "--found", "NUMBER"),
    "step-turns": ("job", "step", "1", "lean_stop", "--turns", "NUMBER"),
    "step-minutes": ("job", "step", "1", "lean_stop", "--note", "x", "--minutes", "NUMBER"),
    "turns": ("turns", "two-barrel-v6", "lean_stop", "thou", "NUMBER"),
    "predict": ("predict", "two-barrel-v6", "--off", "lean_stop=NUMBERthou"),
    "card": ("gauge", "card", "a", "1", "lean_stop", "mm", "NUMBER", "1.84", "--doubt", "0.003"),
    "card-doubt": ("gauge", "card", "a", "1", "lean_stop", "mm", "1.72", "1.84", "--doubt", "NUMBER"),
    "choke": ("gauge", "choke", "mm", "NUMBER", "--plug", "4"),
    "choke-plug": ("gauge", "choke", "mm", "40", "--plug", "NUMBER"),
    "choke-angle": ("gauge", "choke", "mm", "40", "--angle", "NUMBER"),
    "choke-shut": ("gauge", "choke", "mm", "40", "--plug", "4", "--shut", "NUMBER"),
    "float": ("gauge", "float", "mm", "NUMBER", "60", "--height", "2"),
    "float-height": ("gauge", "float", "mm", "30", "60", "--height", "NUMBER"),
    "screw": ("gauge", "screw", "10-32", "NUMBER", "mm"),
    "vacuum": ("gauge", "vacuum", "NUMBER", "kPa"),
    "convert": ("gauge", "convert", "NUMBER", "degF", "degC"),
    "response": ("evidence", "response", "1", "enrichment", "--before", "30", "--during", "NUMBER"),
    "job": ("job", "show", "NUMBER"),
    "bench": ("job", "bench", "NUMBER"),
    "prove": ("prove", "NUMBER"),
    "fit": ("gauge", "fit", "NUMBER", "a", "between"),
}
"""Every command that reads a number."""


@pytest.fixture
def run(tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """One call of the program in a shop with one job, from a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def call(*words: str) -> tuple[int, str, str]:
        capfd.readouterr()
        code = exit_code(["--shop", str(tmp_path / "shop"), "--who", "tester", *words])
        printed = capfd.readouterr()
        return code, printed.out, printed.err

    assert (
        call("job", "new", "lamp on", "--car", "wagon", "--owner", "A.", "--sheet", "two-barrel-v6")[0] == 0
    )
    return call


def kept(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but the database and what can be thrown away."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*"))
            if path.is_file() and not path.name.startswith("records.db")}  # fmt: skip


def refused(answer: tuple[int, str, str], what: str) -> None:
    """A plain refusal: exit 2, one bounded message that names what it is about, no traceback."""
    code, _, err = answer
    assert code == 2, (what, answer)
    assert "Traceback" not in err, what
    lines = [line for line in err.splitlines() if line.strip()]
    assert lines, what
    assert max(map(len, lines)) < 3200, what


@pytest.mark.parametrize("command", TAKES_A_FILE)
def test_no_broken_file_hurts_a_command(run: Run, tmp_path: Path, command: str) -> None:
    before, history = kept(tmp_path / "shop"), run("job", "export", "1")[1]
    for name, content in FILES.items():
        path = tmp_path / f"{name}.csv"
        path.write_bytes(content)
        answer = run(*(str(path) if word == "FILE" else word for word in TAKES_A_FILE[command]))
        refused(answer, name)
        path.unlink()
    for name in ("no-such-file.csv", "shop"):
        refused(run(*(name if word == "FILE" else word for word in TAKES_A_FILE[command])), name)
    assert kept(tmp_path / "shop") == before
    assert run("job", "export", "1")[1] == history
    assert not (tmp_path / "out.svg").exists()
    assert not (tmp_path / "out.png").exists()


@pytest.mark.parametrize("command", TAKES_A_NUMBER)
def test_no_number_hurts_a_command(run: Run, tmp_path: Path, command: str) -> None:
    history = run("job", "export", "1")[1]
    for number in ("nan", "inf", "-inf", "1e400", "x", "", "1,5", "\u0661\u0662x"):
        answer = run(*(word.replace("NUMBER", number) for word in TAKES_A_NUMBER[command]))
        refused(answer, number)
    assert run("job", "export", "1")[1] == history


def test_a_message_says_what_where_wanted_got_and_what_to_do(run: Run, tmp_path: Path) -> None:
    (tmp_path / "gas.csv").write_bytes(FILES["bad-gas"])
    code, _, err = run("job", "add", "1", "gas.csv")
    assert code == 2
    for part in (
        "the cell is not a number",
        "gas.csv, row 2, co_pct",
        "wanted a finite number",
        "got 'x'",
        "The unit",
    ):
        assert part in err
    (tmp_path / "gas.csv").write_text(GAS, encoding="utf-8")
    assert run("job", "add", "1", "gas.csv")[0] == 0


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="needs a folder that cannot be read")
def test_a_file_that_may_not_be_read_is_said(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "gas.csv"
    path.write_text(GAS, encoding="utf-8")
    path.chmod(0)
    refused(run("read", str(path)), "no leave")
