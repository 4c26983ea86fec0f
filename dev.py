#!/usr/bin/env python3
"""The one command of a checkout: `python3 dev.py run`, `python3 dev.py test`, `python3 dev.py check`.

Needs Python 3.11 or newer and nothing else. The first call makes `.venv` and installs what the hashed lists
in `requirements/` name; later calls install only what changed. pip's own settings (PIP_* variables, pip.conf)
hold, so a mirror or a folder of wheels set there is used.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
STATE = VENV / "set-up.json"
SCRIPTS = VENV / ("Scripts" if os.name == "nt" else "bin")
EXE = ".exe" if os.name == "nt" else ""
PYTHON = SCRIPTS / f"python{EXE}"
BROWSERS = ("chromium", "chromium-browser")
PIP = ("-m", "pip", "install", "-qq", "--no-input")
MAKING = {"state": "being made"}


# ------------------------------------------------------------------------------------------------- set-up


def say(text: str) -> None:
    """Print one line of progress at once, also into a pipe."""
    print(f"dev.py: {text}", flush=True)


def call(*command: str | Path, quiet: bool = False, env: dict[str, str] | None = None) -> int:
    """Run a command in the checkout, free of other Pythons' paths, and return its exit code."""
    sink = subprocess.DEVNULL if quiet else None
    words = [str(part) for part in command]
    own = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "PYTHONHOME")}
    surroundings = {**own, "PYTHONUTF8": "1", **(env or {})}
    return subprocess.run(words, cwd=ROOT, env=surroundings, stdout=sink, stderr=sink).returncode


def must(what: str, *command: str | Path) -> None:
    """Run a step of the set-up; a failure ends the program with its exit code, the cause printed above."""
    code = call(*command)
    if code:
        say(f"{what} failed with exit code {code}; mend the cause above and run the same command again")
        sys.exit(code)


@contextlib.contextmanager
def alone() -> Iterator[None]:
    """Hold the set-up lock, so that two calls at once do not build one environment; any death frees it."""
    with open(ROOT / ".venv.lock", "a+") as lock:
        if os.name == "nt":
            import msvcrt

            lock.seek(0)
            msvcrt.locking(lock.fileno(), msvcrt.LK_LOCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def digest(*files: Path) -> str:
    """SHA-256 over the contents of files."""
    total = hashlib.sha256()
    for file in files:
        total.update(file.read_bytes())
    return total.hexdigest()


def wanted_state(lists: list[str]) -> dict[str, str]:
    """What a finished set-up records: where and for whom it was made, and the files it was made from."""
    made_for = {
        "place": str(VENV),
        "python": sys.version.split()[0],
        "source": digest(*sorted((ROOT / "src").rglob("*.py"))),
    }
    return made_for | {name: digest(ROOT / name) for name in (*lists, "pyproject.toml")}


def recorded_state() -> dict[str, str]:
    """What the last set-up recorded; empty where there was none or it cannot be read."""
    try:
        state = json.loads(STATE.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return state if isinstance(state, dict) else {}


def record(state: dict[str, str]) -> None:
    """Write the record whole or not at all."""
    draft = STATE.with_suffix(".new")
    draft.write_text(json.dumps(state, indent=1), encoding="utf-8")
    os.replace(draft, STATE)


def usable(state: dict[str, str], wanted: dict[str, str]) -> bool:
    """Whether the environment can be kept: finished, made for this place and Python, and pip runs."""
    if state == MAKING or any(state.get(key, wanted[key]) != wanted[key] for key in ("place", "python")):
        return False
    return PYTHON.exists() and call(PYTHON, "-m", "pip", "--version", quiet=True) == 0


def make_environment() -> None:
    """Make `.venv` from nothing, marked as being made until the end so that a killed set-up starts over."""
    say(f"making {VENV.name} (Python {sys.version.split()[0]})")
    VENV.mkdir(exist_ok=True)
    record(MAKING)
    for entry in VENV.iterdir():
        if entry != STATE:
            shutil.rmtree(entry) if entry.is_dir() and not entry.is_symlink() else entry.unlink()
    must("making the environment", sys.executable, "-m", "venv", VENV)


def install(lists: list[str]) -> None:
    """Install hashed requirement lists. Bytecode is left to the first import: most is never imported."""
    say(f"installing {' and '.join(lists)}")
    files = [word for name in lists for word in ("-r", ROOT / name)]
    must("installing", PYTHON, *PIP, "--no-compile", "--require-hashes", "--no-deps", *files)


def installed(lists: list[str], wanted: dict[str, str]) -> dict[str, str]:
    """Install what changed, in a fresh environment if need be, and return the new record."""
    state = recorded_state()
    if not usable(state, wanted):
        make_environment()
        state = {}
    changed = [name for name in (*lists, "pyproject.toml") if state.get(name) != wanted[name]]
    if not changed:
        return state
    record(MAKING)
    if changed != ["pyproject.toml"]:
        install([name for name in changed if name != "pyproject.toml"])
    must("installing dwellwright", PYTHON, *PIP, "--no-deps", "--no-build-isolation", "-e", ROOT)
    done = {key: value for key, value in (state | wanted).items() if key != "source"}
    record(done)
    return done


def set_up(*lists: str) -> None:
    """Bring `.venv` to what the lists, the project file and the source ask for; usually nothing."""
    start, wanted = time.monotonic(), wanted_state(list(lists))
    with alone():
        if wanted.items() <= recorded_state().items() and PYTHON.exists():
            return
        state = installed(list(lists), wanted)
        if (ROOT / "src/dwellwright/warm_up.py").exists():
            say("compiling the kernels")
            must("compiling the kernels", PYTHON, "-m", "dwellwright.warm_up")
        record(state | wanted)
    say(f"set up in {time.monotonic() - start:.0f} s")


# ------------------------------------------------------------------------------------------------ commands


def run(options: argparse.Namespace) -> int:
    """The demonstration job from arrival to handover in the folder `shop`, then the pages of that shop."""
    set_up("requirements/run.txt")
    program = (SCRIPTS / f"dwellwright{EXE}", "--shop", ROOT / "shop")
    code = call(*program, "demo")
    if code or options.once:
        return code
    return call(*program, "serve", *(["--port", str(options.port)] if options.port else []))


def found_browser() -> str | None:
    """A Chromium for the browser tests: $CHROMIUM, the search path, or (as root) Debian's package."""
    candidates = (os.environ.get("CHROMIUM"), *BROWSERS)
    found = next((path for name in candidates if name and (path := shutil.which(name))), None)
    if found or not (shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0):
        return found
    say("installing Debian's chromium for the browser tests")
    quietly = {"DEBIAN_FRONTEND": "noninteractive"}
    call("apt-get", "update", "-qq", env=quietly)
    call("apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium", env=quietly)
    return next((path for name in BROWSERS if (path := shutil.which(name))), None)


def tests(arguments: list[str]) -> int:
    """pytest with its own arguments, or else everything: first what needs no browser, a process on each core, then
    what drives a browser, alone, because it listens and looks in real time."""
    browser = found_browser()
    if not browser:
        say("NO CHROMIUM FOUND: browser tests will be SKIPPED. Install chromium or set CHROMIUM to its path.")
    together = ["-n", "auto", "--dist", "loadfile", "-m", "not browser"]
    runs = [arguments] if arguments else [together, ["-m", "browser"]]
    surroundings = {"DWELLWRIGHT_CHROMIUM": browser or ""}
    codes = [call(PYTHON, "-m", "pytest", *words, env=surroundings) for words in runs]
    return next((code for code in codes if code), 0)


def test(options: argparse.Namespace) -> int:
    """The tests; anything after `test` goes to pytest."""
    set_up("requirements/run.txt", "requirements/test.txt")
    return tests(options.arguments)


def check(options: argparse.Namespace) -> int:
    """Everything a change must pass: lint, format, types, names, documentation, tests."""
    set_up("requirements/run.txt", "requirements/test.txt")
    steps: dict[str, tuple[str | Path, ...]] = {
        "lint": (PYTHON, "-m", "ruff", "check", "."),
        "format": (PYTHON, "-m", "ruff", "format", "--check", "."),
        "types": (PYTHON, "-m", "mypy"),
        "names": (PYTHON, "tools/names.py"),
        "documentation": (PYTHON, "-m", "mkdocs", "build", "--strict", "--quiet"),
    }
    shared = ROOT.parent / "shared" / "check_names.py"
    if shared.exists():
        steps["shared names"] = (PYTHON, shared, ROOT)
    failed = []
    for name, command in steps.items():
        say(name)
        failed += [name] if call(*command) else []
    if not options.no_tests:
        say("tests")
        failed += ["tests"] if tests([]) else []
    say(f"FAILED: {', '.join(failed)}" if failed else "every check passed")
    return 1 if failed else 0


def parser() -> argparse.ArgumentParser:
    """The three commands."""
    top = argparse.ArgumentParser(prog="dev.py", description="Run, test and check Dwellwright.")
    commands = top.add_subparsers(dest="command", required=True)
    running = commands.add_parser("run", help="the demonstration job, then the pages")
    running.add_argument("--once", action="store_true", help="stop after the job")
    running.add_argument("--port", type=int, help="port of the pages")
    running.set_defaults(act=run)
    commands.add_parser("test", help="the tests; further words go to pytest").set_defaults(act=test)
    checking = commands.add_parser("check", help="lint, format, types, names, documentation, tests")
    checking.add_argument("--no-tests", action="store_true", help="leave the tests out")
    checking.set_defaults(act=check)
    return top


def main() -> int:
    """Parse, set up, do."""
    if sys.version_info < (3, 11):  # noqa: UP036 - told to people with an older one
        say(f"Python 3.11 or newer is needed, this is {sys.version.split()[0]}")
        return 2
    top = parser()
    options, rest = top.parse_known_args()
    if rest and options.command != "test":
        top.error(f"unknown: {' '.join(rest)}")
    options.arguments = rest
    try:
        return int(options.act(options))
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
