"""A Parquet file tried in a process of its own first: damage can end the library's process, which nobody can catch."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from dwellwright.errors import InputFault

LONGEST = 120.0
"""A file not read through in this time is not a recording of a drive. [s]"""
READ_THROUGH = """
import sys, polars
from polars.selectors import numeric
read = [numeric().sum(), (~numeric()).hash().sum()]  # needs every row; the last one alone is found without the others
try:
    polars.scan_parquet(sys.argv[1]).select(read).collect(engine="streaming")
except polars.exceptions.PanicException:
    sys.exit(3)
"""
SURVIVED = (0, 1)
"""Exit codes of a sound end; 1 is an exception, which the reader meets again and can name."""


def refuse_fatal(path: Path, program: str = READ_THROUGH) -> None:
    """Read the file through once at arm's length.

    Args:
        path: the file.
        program: what the other process does with it; for tests.

    Raises:
        InputFault: reading it ends the process, or never ends.
    """
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter and program
            [sys.executable, "-c", program, str(path)],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            timeout=LONGEST, check=False,
        )  # fmt: skip
        code = done.returncode
    except subprocess.TimeoutExpired:
        code = -1
    if code not in SURVIVED:
        raise InputFault(
            "the Parquet file is damaged",
            where=path.name,
            wanted="a file that can be read through",
            got="one that stops its reader" if code != -1 else f"one not read in {LONGEST:.0f} s",
            remedy="Export the recording again, or export it as CSV.",
        )
