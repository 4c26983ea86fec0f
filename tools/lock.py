"""Pin the requirement lists with hashes: `python tools/lock.py [--upgrade]`. Needs `uv` on the search path.

The lists hold for every platform and for Python 3.11 and newer, and name no index: whoever installs decides
where packages come from. Pins that still fit are kept unless `--upgrade` is given.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "requirements"
OPTIONS = (
    "--universal",
    "--python-version=3.11",
    "--generate-hashes",
    "--no-emit-index-url",
    "--no-emit-find-links",
    "--no-header",
    "--no-annotate",
)
LISTS = ("run", "test")
"""In this order: test.in takes the pins of run.txt as its constraint."""


def lock(uv: str, name: str, upgrade: bool) -> int:
    """Pin one list; the exit code of `uv`."""
    command = [uv, "pip", "compile", *OPTIONS, f"{name}.in", "-o", f"{name}.txt", "--quiet"]
    print(f"locking requirements/{name}.txt", flush=True)
    return subprocess.run(command + (["--upgrade"] if upgrade else []), cwd=FOLDER).returncode


def main() -> int:
    """Pin all lists; stop at the first that cannot be resolved."""
    options = argparse.ArgumentParser(description="Pin requirements/*.in into *.txt with hashes.")
    options.add_argument("--upgrade", action="store_true", help="move every pin to the newest that fits")
    upgrade = options.parse_args().upgrade
    uv = shutil.which("uv")
    if uv is None:
        print("uv is not on the search path; install it into an environment of its own", file=sys.stderr)
        return 2
    return next((code for name in LISTS if (code := lock(uv, name, upgrade))), 0)


if __name__ == "__main__":
    sys.exit(main())
