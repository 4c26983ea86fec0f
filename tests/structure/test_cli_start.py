"""The command line starts light: asking for help loads none of the heavy libraries (benchmarks/cli times it)."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {
    "numpy", "scipy", "numba", "polars", "sqlalchemy", "alembic", "fastapi", "starlette", "uvicorn",
    "matplotlib", "bokeh", "typst", "soundfile", "tsdownsample", "jsonschema",
}  # fmt: skip

PROBE = """
import json, sys
from dwellwright.cli import main
sys.argv = ["dwellwright", *sys.argv[1:]]
try:
    main()
except SystemExit as leaving:
    code = leaving.code or 0
json.dump({"code": code, "loaded": sorted({name.split(".")[0] for name in sys.modules})}, sys.stderr)
"""


def probed(*words: str) -> tuple[int, set[str]]:
    """Exit code of a command and the top-level packages it loaded."""
    done = subprocess.run([sys.executable, "-c", PROBE, *words], capture_output=True, text=True, check=True)
    answer = json.loads(done.stderr.splitlines()[-1])
    return int(answer["code"]), set(answer["loaded"])


@pytest.mark.parametrize(
    "words", [["--help"], ["--version"], ["job", "--help"], ["sheet", "check", "--help"]]
)
def test_asking_for_help_loads_nothing_heavy(words: list[str]) -> None:
    code, loaded = probed(*words)
    assert code == 0
    assert loaded & HEAVY == set()


def test_the_probe_sees_what_a_command_loads(tmp_path: Path) -> None:
    code, loaded = probed("--shop", str(tmp_path), "job", "list")
    assert code == 0
    assert "sqlalchemy" in loaded


def test_the_package_itself_loads_nothing() -> None:
    code = "import sys; before = set(sys.modules); import dwellwright; print(len(set(sys.modules) - before))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "1"


@pytest.mark.parametrize(
    "module", ["dwellwright.web.app", "dwellwright.service.evidence", "dwellwright.evidence.waveform"]
)
def test_what_only_some_work_needs_is_loaded_when_it_is_needed(module: str) -> None:
    program = f"import sys, {module}; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    for_some_work = {"scipy", "numba", "polars", "matplotlib", "bokeh", "typst", "soundfile", "ezdxf"}
    assert {name.split(".")[0] for name in done.stdout.split()} & for_some_work == set()
