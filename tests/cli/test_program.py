"""The program as a person calls it: exit codes and messages."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dwellwright.catalogue.sheet_file import archetype_texts

ROOT = Path(__file__).resolve().parents[2]
HEAVY = (
    "numpy",
    "numba",
    "scipy",
    "polars",
    "sqlalchemy",
    "alembic",
    "fastapi",
    "matplotlib",
    "pydantic",
    "rich",
)
START = "from dwellwright.cli import main; main()"


def program(*arguments: str | Path, code: str = START) -> subprocess.CompletedProcess[str]:
    """One run in a process of its own."""
    words = [sys.executable, "-c", code, *map(str, arguments)]
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONUTF8": "1"}
    return subprocess.run(
        words, capture_output=True, text=True, env=surroundings, timeout=120, encoding="utf-8"
    )


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return tmp_path / "shop"


def test_help_imports_nothing_heavy() -> None:
    code = f"""
import sys
from dwellwright.cli.run import exit_code
code = exit_code(["--help"])
heavy = [name for name in {HEAVY!r} if name in sys.modules]
sys.exit(code or (f"imported {{heavy}}" if heavy else 0))
"""
    run = program(code=code)
    assert (run.returncode, run.stderr) == (0, "")
    assert "Commands:" in run.stdout


def test_an_input_fault_is_one_line_and_exit_code_2(shop: Path) -> None:
    run = program("--shop", shop, "sheet", "show", "nothing-like-it")
    assert run.returncode == 2
    assert run.stdout == ""
    assert run.stderr.startswith("dwellwright: no such spec sheet; wanted ")
    assert run.stderr.count("\n") == 1


def test_a_wrong_option_is_exit_code_2() -> None:
    run = program("job", "list", "--nonsense")
    assert run.returncode == 2
    assert "No such option" in run.stderr


def test_a_job_is_taken_in_and_listed(shop: Path) -> None:
    sheet = next(iter(archetype_texts()))
    empty = program("--shop", shop, "job", "list")
    assert "No jobs yet" in empty.stdout
    words = ("It hunts at idle", "--car", "a tan wagon", "--owner", "an owner", "--sheet", sheet)
    taken = program("--shop", shop, "job", "new", *words)
    assert (taken.returncode, taken.stderr) == (0, "")
    assert taken.stdout.startswith("Job 1: a tan wagon (an owner)")
    listed = program("--shop", shop, "job", "list")
    assert "It hunts at idle" in listed.stdout
    assert "arrival" in listed.stdout


def test_a_blank_complaint_is_refused_and_no_job_is_made(shop: Path) -> None:
    sheet = next(iter(archetype_texts()))
    run = program("--shop", shop, "job", "new", "  ", "--car", "x", "--owner", "y", "--sheet", sheet)
    assert run.returncode == 2
    assert "the field is blank (complaint)" in run.stderr
    assert "No jobs yet" in program("--shop", shop, "job", "list").stdout


def test_a_new_sheet_is_good_and_never_overwrites(tmp_path: Path, shop: Path) -> None:
    file = tmp_path / "mine.toml"
    assert program("sheet", "new", file, "--cylinders", "8").returncode == 0
    checked = program("sheet", "check", file)
    assert (checked.returncode, checked.stderr) == (0, "")
    assert "a good sheet" in checked.stdout
    again = program("sheet", "new", file)
    assert again.returncode == 2
    assert "cannot be written" in again.stderr
    assert program("--shop", shop, "sheet", "import", file).stdout.strip().endswith("as mine, version 1.")
    assert "mine" in program("--shop", shop, "sheet", "list").stdout


def test_every_finding_of_a_bad_sheet_has_its_line(tmp_path: Path) -> None:
    file = tmp_path / "bad.toml"
    text = next(iter(archetype_texts().values())).replace('unit = "mm"', 'unit = "furlong"')
    file.write_text(text, encoding="utf-8")
    line = next(number for number, row in enumerate(text.splitlines(), 1) if "furlong" in row)
    run = program("sheet", "check", file)
    assert run.returncode == 2
    assert f"line {line}, " in run.stderr
    assert "furlong" in run.stderr


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"\x00" * 2_000_000, b"title ="])
def test_a_file_that_is_no_sheet_is_one_message(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "bad.toml"
    file.write_bytes(content)
    run = program("sheet", "check", file)
    assert run.returncode == 2
    assert "Traceback" not in run.stderr
    assert run.stderr.count("\n") == 1


def test_the_schema_is_json_and_the_shown_text_is_the_sheet(shop: Path) -> None:
    import json

    schema = json.loads(program("sheet", "schema").stdout)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    name, text = next(iter(archetype_texts().items()))
    assert program("--shop", shop, "sheet", "show", name, "--toml").stdout == text
