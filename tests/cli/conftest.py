"""One call of the program, in this process."""

from __future__ import annotations

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
