"""The set-up of a checkout: done once, only what changed, started over after a kill; and the rule for browser tests."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from tools.pages import ROOT

LISTS = ("requirements/run.txt", "requirements/test.txt")


def dev_module() -> ModuleType:
    """dev.py as a module of its own."""
    spec = importlib.util.spec_from_file_location("dev", ROOT / "dev.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def dev(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """dev.py in a made-up checkout (with a blank in its path) whose commands are written down, not run."""
    module = dev_module()
    root = tmp_path / "a checkout"
    (root / "src" / "dwellwright").mkdir(parents=True)
    (root / "requirements").mkdir()
    for name in (*LISTS, "pyproject.toml", "src/dwellwright/warm_up.py"):
        (root / name).write_text(name, encoding="utf-8")
    done: list[str] = []

    def call(*command: Any, quiet: bool = False, env: dict[str, str] | None = None) -> int:
        words = " ".join(str(word).replace(str(root), "") for word in command)
        if "venv" in words.split():
            module.PYTHON.parent.mkdir(parents=True, exist_ok=True)
            module.PYTHON.touch()
        if not quiet:
            done.append(words)
        return 1 if module.fails and module.fails in words else 0

    venv = root / ".venv"
    places = {"ROOT": root, "VENV": venv, "STATE": venv / "set-up.json", "PYTHON": venv / "bin" / "python"}
    for name, value in (places | {"call": call, "done": done, "fails": ""}).items():
        monkeypatch.setattr(module, name, value, raising=False)
    return module


def kinds(done: list[str]) -> list[str]:
    """What the commands were for, in order."""
    words = {"-m venv": "make", "--require-hashes": "install", "-e": "package"}
    return [kind for command in done for mark, kind in words.items() if f"{mark} " in f"{command} "]


def test_the_first_call_makes_everything_and_the_second_nothing(dev: ModuleType) -> None:
    dev.set_up(*LISTS)
    assert kinds(dev.done) == ["make", "install", "package"]
    assert dev.done[-1].endswith("dwellwright.warm_up")
    dev.done.clear()
    dev.set_up(*LISTS)
    dev.set_up(LISTS[0])
    assert dev.done == []


def test_hashes_are_asked_for_and_nothing_unlisted_is_fetched(dev: ModuleType) -> None:
    dev.set_up(*LISTS)
    (listed,) = [command for command in dev.done if "--require-hashes" in command]
    assert "--no-deps" in listed
    assert all(f"-r /{name}" in listed for name in LISTS)
    (package,) = [command for command in dev.done if " -e " in command]
    assert "--no-deps --no-build-isolation" in package


def test_only_the_missing_list_is_added(dev: ModuleType) -> None:
    dev.set_up(LISTS[0])
    dev.done.clear()
    dev.set_up(*LISTS)
    (listed,) = [command for command in dev.done if "--require-hashes" in command]
    assert LISTS[1] in listed
    assert LISTS[0] not in listed


@pytest.mark.parametrize(
    ("file", "expected"),
    [
        ("requirements/run.txt", ["install", "package"]),
        ("pyproject.toml", ["package"]),
        ("src/dwellwright/warm_up.py", []),
    ],
)
def test_a_changed_file_redoes_what_hangs_on_it(dev: ModuleType, file: str, expected: list[str]) -> None:
    dev.set_up(*LISTS)
    dev.done.clear()
    (dev.ROOT / file).write_text("changed", encoding="utf-8")
    dev.set_up(*LISTS)
    assert kinds(dev.done) == expected
    assert dev.done[-1].endswith("dwellwright.warm_up")


@pytest.mark.parametrize("step", ["venv", "--require-hashes", " -e "])
def test_a_set_up_that_died_starts_over(dev: ModuleType, step: str) -> None:
    dev.fails = step
    with pytest.raises(SystemExit, match="1"):
        dev.set_up(*LISTS)
    dev.fails = ""
    (dev.VENV / "half").mkdir()
    (dev.VENV / "half" / "written").touch()
    shutil.rmtree(dev.PYTHON.parent, ignore_errors=True)
    dev.done.clear()
    dev.set_up(*LISTS)
    assert kinds(dev.done) == ["make", "install", "package"]
    assert not (dev.VENV / "half").exists()


def test_kernels_that_failed_to_compile_are_tried_again_without_a_new_environment(dev: ModuleType) -> None:
    dev.fails = "warm_up"
    with pytest.raises(SystemExit, match="1"):
        dev.set_up(*LISTS)
    dev.fails = ""
    dev.done.clear()
    dev.set_up(*LISTS)
    assert len(dev.done) == 1
    assert dev.done[0].endswith("dwellwright.warm_up")


@pytest.mark.parametrize("key", ["place", "python"])
def test_an_environment_made_elsewhere_is_made_again(dev: ModuleType, key: str) -> None:
    dev.set_up(*LISTS)
    dev.record(dev.recorded_state() | {key: "another"})
    dev.done.clear()
    dev.set_up(*LISTS)
    assert kinds(dev.done) == ["make", "install", "package"]


@pytest.mark.parametrize("text", ["", "{", "[1]", "null", "\x00"])
def test_a_spoiled_record_is_no_record(dev: ModuleType, text: str) -> None:
    dev.set_up(*LISTS)
    dev.STATE.write_text(text, encoding="utf-8")
    assert dev.recorded_state() == {}


def test_a_command_meets_no_foreign_python_path(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("PYTHONHOME", str(tmp_path))
    probe = "import os, sys; sys.exit(3 if {'PYTHONPATH', 'PYTHONHOME'} & set(os.environ) else 4)"
    assert dev_module().call(sys.executable, "-c", probe) == 4


@pytest.mark.parametrize("words", [["fly"], ["run", "--fly"], ["check", "tests/physics"], []])
def test_an_unknown_command_is_refused(words: list[str]) -> None:
    done = subprocess.run([sys.executable, "dev.py", *words], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 2
    assert "usage: dev.py" in done.stderr


def test_a_missing_browser_is_said_loudly(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(dev, "found_browser", lambda: None)
    assert dev.tests(["-x"]) == 0
    assert "NO CHROMIUM FOUND: browser tests will be SKIPPED" in capsys.readouterr().out
    assert dev.done[-1].endswith("-m pytest -x")


@pytest.mark.parametrize(("failing", "code"), [("", 0), ("not browser", 1), ("-m browser", 1)])
def test_all_tests_run_in_two_parts_and_either_can_fail_the_whole(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch, failing: str, code: int
) -> None:
    monkeypatch.setattr(dev, "found_browser", lambda: "chromium")
    dev.fails = failing
    assert dev.tests([]) == code
    parts = [command.partition("-m pytest ")[2] for command in dev.done]
    assert parts == ["-n auto --dist loadfile -m not browser", "-m browser"]


def test_the_browser_named_by_the_user_comes_first(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    mine = tmp_path / "mine"
    mine.touch(mode=0o755)
    monkeypatch.setenv("CHROMIUM", str(mine))
    assert dev.found_browser() == str(mine)


# --------------------------------------------------------------------------------------------- browser rule

SKIPPING = "import pytest\n@pytest.mark.browser\ndef test_page():\n    pytest.skip('no chromium')\n"
PASSING = "import pytest\n@pytest.mark.browser\ndef test_page():\n    assert True\n"
OTHER = "def test_sum():\n    assert 1 + 1 == 2\n"


@pytest.mark.parametrize("processes", [[], ["-n", "2"]])
@pytest.mark.parametrize(
    ("text", "required", "code"),
    [
        (SKIPPING, "1", 1), (SKIPPING, "", 0), (PASSING, "1", 0), (PASSING, "", 0), (OTHER, "1", 5), (OTHER, "", 0),
    ],
)  # fmt: skip
def test_a_required_browser_test_may_not_be_skipped(
    text: str, required: str, code: int, processes: list[str], tmp_path: Path
) -> None:
    (tmp_path / "test_made_up.py").write_text(text, encoding="utf-8")
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = browser: x\n", encoding="utf-8")
    shutil.copy(ROOT / "tests" / "conftest.py", tmp_path)
    surroundings = {**os.environ, "DWELLWRIGHT_REQUIRE_BROWSER": required}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *processes]
    done = subprocess.run(command, cwd=tmp_path, env=surroundings, capture_output=True, text=True)
    assert done.returncode == code, done.stdout + done.stderr
